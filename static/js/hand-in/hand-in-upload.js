/* Gather the pictures of a hand-in: choose or drop, one request per file with its own progress, order by drag or by buttons.
 *
 * The markup is templates/reviews/hand_ins/draft.html: a section [data-hand-in-upload] with data-add-url, data-order-url and
 * data-most; in it [data-choose-form] around [data-choose], a status line [data-upload-said], the list [data-pictures] and a
 * [data-picture-template] for a new row.
 *
 * add: POST "file" and "place" -> the row's facts (queries.drafts.picture_row); order: POST "order" = "7,3,9"; remove: POST to the row's
 * data-remove-url. A refusal is 4xx {"sentence": "…"}. Every change of the list is announced by "hand-in-changed" with
 * {pictures, waiting}, every kept picture by "picture-kept" with its facts.
 */
import { movedItem, roomFor, sizeWords } from "./hand-in-order.js";
import { freshPress, post, tokenOf } from "../posting.js";

const AT_ONCE = 2; // more parallel uploads only share the same line, and all finish late

class HandInUpload {
  constructor(section) {
    this.section = section;
    this.list = section.querySelector("[data-pictures]");
    this.template = section.querySelector("[data-picture-template]");
    this.form = section.querySelector("[data-choose-form]");
    this.input = section.querySelector("[data-choose]");
    this.most = Number(section.dataset.most) || 20;
    this.queue = [];
    this.running = 0;
  }

  start() {
    this.section.dataset.live = "";
    this.input.addEventListener("change", () => {
      this.add([...this.input.files]);
      this.input.value = "";
    });
    this.form.addEventListener("submit", (event) => event.preventDefault());
    for (const name of ["dragenter", "dragover"]) this.section.addEventListener(name, (event) => this.over(event));
    for (const name of ["dragleave", "drop"]) this.section.addEventListener(name, () => this.section.classList.remove("over"));
    this.section.addEventListener("drop", (event) => this.drop(event));
    this.list.addEventListener("click", (event) => this.press(event));
    this.list.addEventListener("dragstart", (event) => this.lift(event));
    this.list.addEventListener("dragend", () => this.letGo());
    this.list.addEventListener("dragover", (event) => this.carry(event));
    this.section.addEventListener("list-renewed", () => this.changed());
    window.addEventListener("beforeunload", (event) => {
      if (this.running || this.queue.length) event.preventDefault();
    });
    this.changed();
  }

  get rows() {
    return [...this.list.children];
  }

  say(words, sending = false) {
    this.sending = sending;
    this.section.querySelector("[data-upload-said]").textContent = words;
  }

  over(event) {
    if (!event.dataTransfer?.types.includes("Files")) return;
    event.preventDefault();
    this.section.classList.add("over");
  }

  drop(event) {
    if (!event.dataTransfer?.files.length) return;
    event.preventDefault();
    this.add([...event.dataTransfer.files]);
  }

  add(files) {
    const { taken, left } = roomFor(files, this.rows.length, this.most);
    for (const file of taken) this.queue.push({ file, row: this.newRow(file) });
    if (left.length) this.say(`A hand-in holds ${this.most} pictures: ${left.length} of these were not taken.`);
    else if (taken.length) this.say(taken.length === 1 ? `Sending ${taken[0].name}.` : `Sending ${taken.length} pictures.`, true);
    this.changed();
    this.next();
  }

  newRow(file) {
    const row = this.template.content.firstElementChild.cloneNode(true);
    row.querySelector("[data-name]").textContent = file.name;
    row.querySelector("[data-size]").textContent = sizeWords(file.size);
    row.querySelector("[data-progress]").setAttribute("aria-label", `${file.name}: how much is sent`);
    row.querySelector("[data-standing]").textContent = "Waiting its turn";
    // Two are sent at once and arrive in any order: each tells the place that it was chosen for.
    row.dataset.place = String(Math.max(0, ...this.rows.map((other) => Number(other.dataset.place) || 0)) + 1);
    this.list.append(row);
    return row;
  }

  next() {
    while (this.running < AT_ONCE && this.queue.length) {
      const { file, row } = this.queue.shift();
      this.running += 1;
      this.send(file, row).finally(() => {
        this.running -= 1;
        if (!this.running && !this.queue.length) this.drained();
        this.changed();
        this.next();
      });
    }
  }

  drained() {
    if (this.sending) this.say("");
    if (this.orderWaits) this.keepOrder();
  }

  // XMLHttpRequest, because fetch does not tell how much of a body is sent.
  send(file, row) {
    return new Promise((resolve) => {
      const request = new XMLHttpRequest();
      const data = new FormData();
      data.append("place", row.dataset.place);
      data.append("file", file, file.name);
      row.request = request;
      request.open("POST", this.section.dataset.addUrl);
      request.setRequestHeader("Accept", "application/json");
      request.setRequestHeader("X-CSRFToken", tokenOf(this.form));
      // Sent once more after a lost answer, it is the same press: a picture is never put in twice.
      request.setRequestHeader("X-Press", (row.press ??= freshPress()));
      request.responseType = "json";
      request.upload.addEventListener("progress", (event) => this.progressed(row, event));
      request.addEventListener("load", () => this.arrived(row, file, request));
      request.addEventListener("error", () => this.unanswered(row, file, "The connection broke. Nothing is wrong with the file."));
      request.addEventListener("loadend", resolve);
      request.send(data);
    });
  }

  progressed(row, event) {
    if (!event.lengthComputable) return;
    const percent = Math.round((event.loaded / event.total) * 100);
    row.querySelector("[data-progress]").value = percent;
    row.querySelector("[data-standing]").textContent = percent < 100 ? `${percent} % sent` : "Sent, being stored";
  }

  arrived(row, file, request) {
    const said = request.response;
    const isAnswer = typeof said === "object" && said !== null;
    if (request.status >= 500 || (request.status < 300 && !isAnswer)) {
      return this.unanswered(row, file, said?.sentence || "Something failed on our side. Nothing is wrong with the file.");
    }
    if (request.status < 200 || request.status > 299) {
      return this.failed(row, said?.sentence || "This file was refused. Take it out here; the others are kept.");
    }
    if (said.is_repeated) return this.keptBefore(row, said.sentence);
    row.dataset.picture = said.id;
    row.dataset.removeUrl = said.remove_url ?? "";
    row.querySelector("[data-name]").textContent = said.name ?? file.name; // another may have that name already
    row.dataset.state = said.state ?? "received";
    row.dataset.stateUrl = said.state_url ?? "";
    row.querySelector("[data-progress]").hidden = true;
    row.querySelector("[data-standing]").textContent = said.reason || "Sent";
    const thumb = row.querySelector("[data-thumb]");
    if (said.thumb_url) thumb.src = said.thumb_url;
    else showLocally(thumb, file);
    // The first picture makes the draft: hand-in-reading.js learns its addresses from this, and watches it being read.
    this.section.dispatchEvent(new CustomEvent("picture-kept", { detail: said }));
    return undefined;
  }

  /** The server failed, or its answer was lost: the file is not to blame, and one press sends it once more. */
  unanswered(row, file, sentence) {
    this.failed(row, sentence);
    row.dataset.state = "unsent";
    const again = document.createElement("button");
    Object.assign(again, { type: "button", className: "button little", textContent: "Send it again" });
    again.addEventListener("click", () => {
      again.remove();
      row.querySelector("[data-progress]").hidden = false;
      row.querySelector("[data-standing]").textContent = "Waiting its turn";
      delete row.dataset.state;
      this.queue.push({ file, row });
      this.next();
    });
    row.querySelector("[data-remove]").before(again);
  }

  /** It stands already, but the server died before it could keep its answer: only the page itself knows the picture. */
  keptBefore(row, sentence) {
    this.failed(row, sentence);
    const show = document.createElement("button");
    Object.assign(show, { type: "button", className: "button little", textContent: "Show it here" });
    show.addEventListener("click", () => location.reload());
    row.querySelector("[data-remove]").replaceWith(show);
  }

  failed(row, sentence) {
    row.dataset.state = "refused";
    row.querySelector("[data-progress]")?.setAttribute("hidden", "");
    row.querySelector("[data-standing]").textContent = sentence;
    this.say(`${row.querySelector("[data-name]").textContent}: ${sentence}`);
  }

  press(event) {
    const row = event.target.closest("li");
    const button = event.target.closest("button");
    if (!row || !button) return;
    const at = this.rows.indexOf(row);
    if (button.matches("[data-earlier]")) this.reorder(at, at - 1, button);
    if (button.matches("[data-later]")) this.reorder(at, at + 1, button);
    // Taking out what was made from scans brings these back: the plain form does it, and the page shows them.
    if (button.matches("[data-remove]") && !row.hasAttribute("data-made")) {
      event.preventDefault(); // a row written by the server holds a plain form
      this.remove(row, at);
    }
  }

  reorder(from, to, button) {
    if (to < 0 || to >= this.rows.length) return;
    this.list.replaceChildren(...movedItem(this.rows, from, to));
    button.focus();
    this.say(`Now picture ${to + 1} of ${this.rows.length}.`);
    this.keepOrder();
  }

  lift(event) {
    this.lifted = event.target.closest("li");
    this.before = this.rows.map((row) => row.dataset.picture).join();
    event.dataTransfer.effectAllowed = "move";
    this.lifted?.classList.add("lifted");
  }

  carry(event) {
    const under = event.target.closest("li");
    if (!this.lifted || !under || under === this.lifted) return;
    event.preventDefault();
    const box = under.getBoundingClientRect();
    under[event.clientY < box.top + box.height / 2 ? "before" : "after"](this.lifted);
  }

  letGo() {
    if (!this.lifted) return;
    this.lifted.classList.remove("lifted");
    this.lifted = null;
    if (this.before !== this.rows.map((row) => row.dataset.picture).join()) this.keepOrder();
  }

  async keepOrder() {
    this.changed();
    // What is still on its way has no name yet, and an order has to name every picture of the draft.
    this.orderWaits = this.running > 0 || this.queue.length > 0;
    if (this.orderWaits) return;
    this.rows.filter((row) => row.dataset.picture).forEach((row, at) => (row.dataset.place = String(at + 1)));
    const data = new FormData();
    data.append("order", this.rows.map((row) => row.dataset.picture).filter(Boolean).join(","));
    try {
      const said = await post(this.section.dataset.orderUrl, data, tokenOf(this.form));
      if (said.is_repeated) this.say(said.sentence);
    } catch (refusal) {
      this.say(refusal.message);
    }
  }

  async remove(row, at) {
    row.request?.abort();
    this.queue = this.queue.filter((waiting) => waiting.row !== row);
    try {
      if (row.dataset.removeUrl) await post(row.dataset.removeUrl, new FormData(), tokenOf(this.form));
    } catch (refusal) {
      this.say(refusal.message);
      return;
    }
    const name = row.querySelector("[data-name]").textContent;
    row.remove();
    (this.rows[at] ?? this.rows.at(-1))?.querySelector("[data-remove]")?.focus();
    this.say(`${name} is taken out.`);
    this.changed();
  }

  changed() {
    const rows = this.rows;
    rows.forEach((row, at) => {
      row.querySelector("[data-position]")?.replaceChildren(String(at + 1));
      row.querySelector("[data-earlier]")?.toggleAttribute("disabled", at === 0);
      row.querySelector("[data-later]")?.toggleAttribute("disabled", at === rows.length - 1);
    });
    const detail = { pictures: rows.length, waiting: this.running + this.queue.length };
    const waits = /** @type {NodeListOf<HTMLButtonElement>} */ (document.querySelectorAll("[data-waits-for-upload]"));
    for (const button of waits) button.disabled = detail.waiting > 0;
    this.section.dispatchEvent(new CustomEvent("hand-in-changed", { detail, bubbles: true }));
  }
}

/** Until the server has made a thumbnail, show what the browser itself can read of the file. */
function showLocally(thumb, file) {
  if (!/^image\/(jpeg|png|webp)$/.test(file.type)) return;
  const url = URL.createObjectURL(file);
  thumb.addEventListener("load", () => URL.revokeObjectURL(url), { once: true });
  thumb.src = url;
}

for (const section of document.querySelectorAll("[data-hand-in-upload]")) new HandInUpload(section).start();
