/* Place blocks of text by hand: the boxes on the pages and the figures of the form say the same, and the server breaks
 * the lines. Without this script the form does it all. */
import { post, tokenOf } from "../posting.js";
import { svg, textOf } from "./set-text.js";

const FIGURES = ["left_mm", "top_mm", "width_mm", "height_mm"];
const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
const LEAST_MM = 5;
const WAIT_MS = 250;

const rounded = (mm) => Math.round(mm * 10) / 10;

class TextPage {
  constructor(root) {
    this.root = root;
    this.pages = root.querySelector("[data-text-pages]");
    this.form = root.querySelector("[data-text-form]");
    this.list = root.querySelector("[data-text-blocks]");
    this.lines = root.querySelector("[data-set-text]");
    this.handles = svg("g", { class: "text-handles" });
    const paper = this.pages.querySelector(".paper");
    this.size = [Number(paper.getAttribute("width")), Number(paper.getAttribute("height"))];
  }

  start() {
    this.root.dataset.live = "";
    this.pages.append(this.handles);
    // What is offered without scripts is added by the button.
    const offered = [...this.list.querySelectorAll("[data-is-new]")].at(-1);
    if (offered && !this.field(offered, "words").value.trim()) this.take(offered);
    this.root.querySelector("[data-add-block]").addEventListener("click", () => this.add());
    this.form.addEventListener("input", (event) => this.typed(event));
    this.form.addEventListener("change", (event) => this.typed(event));
    this.draw();
  }

  get blocks() {
    return [...this.list.querySelectorAll("[data-text-block]")].filter((block) => !this.field(block, "DELETE")?.checked);
  }

  /** @returns {any} */
  field(block, name) {
    return block.querySelector(`[name$="-${name}"]`);
  }

  box(block) {
    return FIGURES.map((name) => Number(this.field(block, name).value) || 0);
  }

  take(block) {
    const total = this.form.elements["block-TOTAL_FORMS"];
    const last = Number(total.value) - 1;
    if (!this.field(block, "words").name.startsWith(`block-${last}-`)) return;
    block.remove();
    total.value = String(last);
  }

  add() {
    const total = this.form.elements["block-TOTAL_FORMS"];
    const blank = this.root.querySelector("[data-blank-block]");
    const block = blank.content.cloneNode(true).firstElementChild;
    for (const part of block.querySelectorAll("[name], [id], [for]")) {
      for (const name of ["name", "id", "for"]) {
        if (part.hasAttribute(name)) part.setAttribute(name, part.getAttribute(name).replace("__prefix__", total.value));
      }
    }
    total.value = String(Number(total.value) + 1);
    this.list.append(block);
    this.draw();
    this.field(block, "words").focus();
  }

  typed(event) {
    if (event.target.closest("[data-text-block]")) this.draw();
  }

  /** Put a box where it is asked for, on the paper and no smaller than a hand can take. */
  put(block, [left, top, width, height]) {
    const [across, down] = this.size;
    const wide = Math.min(Math.max(width, LEAST_MM), across);
    const high = Math.min(Math.max(height, LEAST_MM), down);
    const box = [Math.min(Math.max(left, 0), across - wide), Math.min(Math.max(top, 0), down - high), wide, high];
    FIGURES.forEach((name, at) => { this.field(block, name).value = String(rounded(box[at])); });
    this.form.dispatchEvent(new Event("change", { bubbles: true }));
    this.draw();
  }

  draw() {
    const focused = this.handles.querySelector(":focus")?.dataset.of;
    this.handles.replaceChildren(...this.blocks.map((block) => this.handle(block)));
    if (focused) this.handles.querySelector(`[data-of="${focused}"]`)?.focus();
    window.clearTimeout(this.waiting);
    this.waiting = window.setTimeout(() => this.ask(), WAIT_MS);
  }

  handle(block) {
    const [x, y, width, height] = this.box(block);
    const name = block.querySelector("legend").textContent.trim();
    const of = this.field(block, "words").name;
    const corner = svg("circle", { class: "text-corner", cx: x + width, cy: y + height, r: Math.min(7, this.size[0] / 40) });
    const group = svg("g", {
      class: "text-handle", tabindex: 0, role: "button", "data-of": of,
      "aria-label": `${name}: ${rounded(x)} mm from the left, ${rounded(y)} mm from the top. Arrow keys move it.`,
    }, svg("rect", { class: "text-box", x, y, width, height }), svg("rect", { class: "text-box-line", x, y, width, height }), corner);
    group.addEventListener("keydown", (event) => this.key(event, block));
    group.addEventListener("focus", () => this.hold(block));
    group.addEventListener("pointerdown", (event) => this.drag(event, block, event.target === corner));
    return group;
  }

  hold(block) {
    for (const one of this.list.children) one.classList.toggle("is-held", one === block);
  }

  key(event, block) {
    const way = ARROWS[event.key];
    if (!way || event.ctrlKey || event.metaKey || event.altKey) return;
    event.preventDefault();
    const [x, y, width, height] = this.box(block);
    this.put(block, event.shiftKey ? [x, y, width + way[0], height + way[1]] : [x + way[0], y + way[1], width, height]);
  }

  drag(event, block, resizes) {
    if (event.button) return;
    event.preventDefault();
    const from = this.mmOf(event);
    const box = this.box(block);
    this.handles.querySelector(`[data-of="${this.field(block, "words").name}"]`)?.focus();
    const move = (now) => {
      const [x, y] = this.mmOf(now);
      const [right, down] = [x - from[0], y - from[1]];
      this.put(block, resizes ? [box[0], box[1], box[2] + right, box[3] + down] : [box[0] + right, box[1] + down, box[2], box[3]]);
    };
    const end = () => {
      window.removeEventListener("pointermove", move);
      window.removeEventListener("pointerup", end);
      window.removeEventListener("pointercancel", end);
    };
    window.addEventListener("pointermove", move);
    window.addEventListener("pointerup", end);
    window.addEventListener("pointercancel", end);
  }

  mmOf(event) {
    const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(this.pages.getScreenCTM().inverse());
    return [at.x, at.y];
  }

  /** Have the lines broken; an answer that comes after a later question is not shown. */
  async ask() {
    const asked = (this.asked = (this.asked ?? 0) + 1);
    const answer = await post(this.root.dataset.linesUrl, new FormData(this.form), tokenOf(this.form)).catch(() => null);
    if (!answer || asked !== this.asked) return;
    this.lines.replaceChildren(...answer.blocks.map(textOf));
    const faults = answer.faults.map((words) => {
      const line = document.createElement("li");
      const head = document.createElement("b");
      line.dataset.weight = "caution";
      head.textContent = "Look again:";
      line.append(head, ` ${words}`);
      return line;
    });
    this.root.querySelector("[data-text-faults]").replaceChildren(...faults);
    this.root.querySelector("[data-text-clean]")?.remove();
  }
}

const root = document.querySelector("[data-text-page]");
if (root?.querySelector("[data-text-form]")) new TextPage(root).start();
