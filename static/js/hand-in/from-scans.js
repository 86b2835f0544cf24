/* Keep the part of a draft that works on scans up to date: new pictures to tick, how far a joining is, what came of it.
 *
 * The markup is templates/reviews/hand_ins/_from_scans.html: a [data-from-scans] whose items carry data-state-url as long as
 * something is still to come. When the worker is done, or a picture was read, the part is fetched anew from the page itself;
 * ticks, what was chosen and the place of the keyboard stay. Works beside hand-in-upload.js and hand-in-reading.js.
 */
import { post, tokenOf } from "../posting.js";
import { readPage } from "../read-page.js";
import { sending } from "../typed/typed-words.js";

const PAUSE_MS = 1000;

class FromScans {
  constructor(part) {
    this.part = part;
  }

  start() {
    this.part.dataset.scripted = "";
    document.querySelector("[data-hand-in-upload]")?.addEventListener("hand-in-changed", () => this.compare());
    document.addEventListener("submit", (event) => this.keepWords(event), true);
    // What can be done with a file of several pages stands on the page itself.
    document.addEventListener("picture-read", (/** @type {CustomEvent} */ event) => event.detail.n_pages > 1 && this.refresh());
    this.watch();
  }

  /** What stands in the draft, as the list above shows it, against what can be ticked here. */
  compare() {
    const ready = [.../** @type {NodeListOf<HTMLElement>} */ (document.querySelectorAll("[data-pictures] > li[data-state=ready]"))]
      .map((row) => row.dataset.picture);
    const here = [...this.part.querySelectorAll(".scans input")].map((box) => box.value);
    if (ready.slice().sort().join() !== here.slice().sort().join()) this.refresh();
  }

  async watch() {
    this.compare();
    const waiting = [...this.part.querySelectorAll("[data-state-url]")];
    const said = await Promise.all(waiting.map((item) => this.ask(item).catch(() => false)));
    if (said.some(Boolean)) await this.refresh();
    if (!this.isOver) setTimeout(() => this.watch(), PAUSE_MS);
  }

  /** Ask how far one is; true when the part must be drawn anew. */
  async ask(item) {
    const answer = await fetch(item.dataset.stateUrl, { credentials: "same-origin", headers: { Accept: "application/json" } });
    if (!answer.ok) return false;
    const said = await answer.json();
    const progress = item.querySelector("[data-derived-progress]");
    if (progress && said.state === "asked") {
      progress.querySelector("progress").value = said.percent;
      progress.querySelector("span").textContent = said.progress;
    }
    return said.is_settled || said.state !== item.dataset.state;
  }

  async refresh() {
    if (this.refreshing || this.part.querySelector("form[aria-busy=true]")) return;
    this.refreshing = true;
    try {
      const page = await readPage(location.pathname);
      if (!page) return;
      const fresh = page.querySelector("[data-from-scans]");
      if (fresh) {
        this.replace(fresh);
        this.renewList(page);
      }
      else this.isOver = true; // signed out meanwhile, or no longer our turn: asking on would only repeat that
    } catch {
      // The next round asks again.
    } finally {
      this.refreshing = false;
    }
  }

  replace(fresh) {
    const ticked = new Set([...this.part.querySelectorAll(".scans input:checked")].map((box) => box.value));
    const chosen = [...this.part.querySelectorAll(".ways select, .ways input")].map((one) => [one.name, one.value]);
    const focused = this.part.contains(document.activeElement) ? document.activeElement : null;
    const was = this.part.querySelectorAll(".made > li").length;
    for (const box of fresh.querySelectorAll(".scans input")) box.checked = ticked.has(box.value);
    for (const [name, value] of chosen) fresh.querySelector(`[name=${name}]`).value = value;
    this.part.replaceChildren(...fresh.childNodes);
    if (this.part.querySelectorAll(".made > li").length > was) this.part.open = true;
    if (focused) this.refocus(focused);
  }

  /** Pages taken out of a file stand in the list as soon as they are made; what is still being sent is not disturbed. */
  renewList(page) {
    const list = document.querySelector("[data-pictures]");
    const fresh = page.querySelector("[data-pictures]");
    if (!list || !fresh || [...list.children].some((row) => !(/** @type {HTMLElement} */ (row).dataset.picture))) return;
    const told = (/** @type {Element} */ one) =>
      [...one.children].map((row) => `${row.getAttribute("data-picture")}${Boolean(row.querySelector(".pages-of"))}`).sort().join();
    if (told(list) === told(fresh)) return;
    list.replaceChildren(...fresh.childNodes);
    document.querySelector("[data-hand-in-upload]")?.dispatchEvent(new Event("list-renewed"));
  }

  refocus(focused) {
    const { name, value, tagName } = focused;
    const item = focused.closest?.("[data-derived]")?.dataset.derived;
    const within = item ? this.part.querySelector(`[data-derived="${item}"]`) : this.part;
    const same = [...(within?.querySelectorAll(tagName) ?? [])].find((one) => one.name === name && one.value === value);
    (same ?? within?.querySelector("button") ?? this.part.querySelector("summary"))?.focus({ preventScroll: true });
  }

  /** A deed here loads the page anew: what was written in the cover note and not kept yet is kept first.
   * Where it cannot be kept, nothing is done and the page stays as it is, words and ticks with it. */
  async keepWords(event) {
    const form = event.target;
    const note = /** @type {HTMLTextAreaElement | null} */ (document.querySelector("#cover-note"));
    const keep = document.querySelector("[data-keep-words]")?.getAttribute("formaction");
    if (!form.matches("[data-keeps-words]") || !keep || !note || note.value === note.defaultValue) return;
    event.preventDefault();
    event.stopImmediatePropagation();
    if (this.keeping) return;
    this.keeping = true;
    const submitter = event.submitter;
    const [data, words] = [new FormData(), note.value];
    data.append("cover_note", words);
    try {
      const arrived = sending(note.form);
      await post(keep, data, tokenOf(form));
      note.defaultValue = words;
      arrived();
    } catch (refusal) {
      this.sayNotKept(form, refusal.message);
      return;
    } finally {
      this.keeping = false;
    }
    form.requestSubmit(submitter?.form === form ? submitter : undefined);
  }

  /** Beside the button that was pressed, since nothing came of it. */
  sayNotKept(form, why) {
    form.querySelector("[data-not-kept]")?.remove();
    const line = document.createElement("p");
    Object.assign(line, { className: "said wrong", role: "alert" });
    line.dataset.notKept = "";
    line.textContent = `Your cover note could not be saved, so nothing was done yet. ${why}`;
    form.append(line);
  }
}

for (const part of document.querySelectorAll("[data-from-scans]")) new FromScans(part).start();
