import { groupsOf, movedDown, movedUp, putBefore } from "./ballot-order.js";

/* A ballot: buttons and dragging write the places that the lists of numbers hold; nothing is sent before its button. */
const MOVED_PX = 8;

class BallotForm {
  constructor(form) {
    this.form = form;
    this.list = form.querySelector("[data-ballot-options]");
    this.said = form.querySelector("[data-ballot-said]");
    this.dragged = null;
    form.dataset.live = "";
    form.addEventListener("change", (event) => event.target.matches("select") && this.show(this.groups(), event.target));
    form.addEventListener("click", (event) => this.pressed(event));
    this.list.addEventListener("pointerdown", (event) => this.taken(event));
    this.list.addEventListener("click", (event) => this.wasDragged && event.preventDefault());
    this.show(this.groups());
  }

  cards() {
    return [...this.list.children];
  }

  groups() {
    return groupsOf(this.cards().map((card) => [card.dataset.option, Number(card.querySelector("select").value)]));
  }

  pressed(event) {
    const button = event.target.closest("[data-up], [data-down]");
    if (!button) return;
    const card = button.closest("[data-option]");
    const move = button.hasAttribute("data-up") ? movedUp : movedDown;
    this.show(move(this.groups(), card.dataset.option), button);
    this.tell(card);
  }

  /** Write the places and put the cards in their order; the focus stays where it was. */
  show(groups, focused) {
    const place = new Map(groups.flatMap((group, at) => group.map((option) => [option, at + 1])));
    for (const card of this.cards()) {
      const given = place.get(card.dataset.option) ?? "";
      card.querySelector("select").value = String(given);
      card.toggleAttribute("data-placed", given !== "");
    }
    const rank = (card) => place.get(card.dataset.option) ?? Infinity;
    const ordered = this.cards().sort((a, b) => (rank(a) === rank(b) ? 0 : rank(a) - rank(b)));
    if (ordered.some((card, at) => card !== this.list.children[at])) {
      this.list.append(...ordered);
      focused?.focus();
    }
  }

  tell(card) {
    const place = card.querySelector("select").value;
    this.said.textContent = place ? `Option ${card.dataset.number}: place ${place}.` : `Option ${card.dataset.number}: no place.`;
  }

  taken(event) {
    const card = event.target.closest(".mat")?.closest("[data-option]");
    this.wasDragged = false;
    if (!card || event.button !== 0 || event.pointerType === "touch") return;
    event.preventDefault();
    const from = { x: event.clientX, y: event.clientY };
    const over = (at) => /** @type {HTMLElement | null} */ (document.elementFromPoint(at.clientX, at.clientY)?.closest("[data-option]"));
    const moved = (at) => {
      if (Math.hypot(at.clientX - from.x, at.clientY - from.y) < MOVED_PX) return;
      this.wasDragged = true;
      card.dataset.dragged = "";
      for (const other of this.cards()) other.toggleAttribute("data-under", other === over(at) && other !== card);
    };
    const ended = (at) => {
      window.removeEventListener("pointermove", moved);
      window.removeEventListener("pointerup", ended);
      window.removeEventListener("pointercancel", ended);
      delete card.dataset.dragged;
      for (const other of this.cards()) other.removeAttribute("data-under");
      const target = at.type === "pointerup" && this.wasDragged ? over(at) : null;
      if (!target || target === card || !this.list.contains(target)) return;
      this.show(putBefore(this.groups(), card.dataset.option, target.dataset.option));
      this.tell(card);
    };
    window.addEventListener("pointermove", moved);
    window.addEventListener("pointerup", ended);
    window.addEventListener("pointercancel", ended);
  }
}

for (const form of document.querySelectorAll("[data-ballot]")) new BallotForm(form);
