/* Show beside the cover note what the publisher would see of the draft, as soon as that is known.
 *
 * The markup is templates/reviews/hand_ins/draft.html: a [data-check-place] with data-check-url, the address of a page that
 * holds [data-draft-check]. It is asked again while it carries data-waits, and whenever the pictures change. A button
 * [data-say="words"] puts these words into the cover note. Nothing here holds up the hand-in.
 */
import { readPage } from "../read-page.js";

const ASK_AGAIN_MS = 1500;

class DraftCheck {
  constructor(place) {
    this.place = place;
    this.note = /** @type {HTMLTextAreaElement} */ (document.querySelector("#cover-note"));
    this.list = document.querySelector("[data-pictures]");
  }

  start() {
    document.addEventListener("hand-in-changed", () => this.ask());
    document.addEventListener("picture-read", () => this.ask());
    this.place.addEventListener("click", (event) => this.say(event));
    this.ask();
  }

  async ask() {
    clearTimeout(this.timer);
    if (this.asking) {
      this.askOnceMore = true;
      return;
    }
    this.asking = true;
    try {
      const page = await readPage(this.place.dataset.checkUrl);
      const fresh = page?.querySelector("[data-draft-check]");
      if (fresh) this.show(/** @type {HTMLElement} */ (fresh));
    } catch {
      // Nothing is shown that was not looked for: what stands here stays until the next answer.
      this.timer = setTimeout(() => this.ask(), ASK_AGAIN_MS * 4);
    } finally {
      this.asking = false;
    }
    if (this.askOnceMore) {
      this.askOnceMore = false;
      this.ask();
    }
  }

  show(fresh) {
    const old = this.place.querySelector("[data-draft-check]");
    const isNews = !old || unchanging(old) !== unchanging(fresh);
    if (isNews && old && isInForm(old)) {
      this.timer = setTimeout(() => this.ask(), ASK_AGAIN_MS);
      return;
    }
    if (isNews) {
      keepForms(old, fresh);
      const focused = this.place.contains(document.activeElement) ? /** @type {HTMLElement} */ (document.activeElement).dataset.say : null;
      if (old) old.replaceWith(fresh);
      else this.place.append(fresh);
      if (focused) this.buttonFor(focused)?.focus({ preventScroll: true });
    }
    this.place.hidden = fresh.hasAttribute("data-is-empty");
    this.place.querySelector("[data-not-yet]")?.remove();
    if (fresh.hasAttribute("data-waits")) this.timer = setTimeout(() => this.ask(), ASK_AGAIN_MS);
  }

  buttonFor(words) {
    return [...this.place.querySelectorAll("[data-say]")].find((one) => one.dataset.say === words);
  }

  /** Put words into the cover note, once, and let the person go on writing there. */
  say(event) {
    const words = event.target.closest("[data-say]")?.dataset.say;
    if (!words) return;
    if (!this.note.value.includes(words.trim())) {
      this.note.value = [this.note.value.trimEnd(), words].filter(Boolean).join("\n");
      this.note.dispatchEvent(new Event("input", { bubbles: true }));
    }
    this.note.focus();
    this.note.setSelectionRange(this.note.value.length, this.note.value.length);
  }
}

/** Whether somebody is filling in a form of the check: it is not taken from under their hands. */
function isInForm(check) {
  return Boolean(document.activeElement?.closest("form, details") && check.contains(document.activeElement));
}

/** What the check says, without the hidden fields that each answer brings anew, and without what was opened here. */
function unchanging(check) {
  const copy = /** @type {HTMLElement} */ (check.cloneNode(true));
  for (const field of copy.querySelectorAll("input[type=hidden]")) field.remove();
  for (const more of copy.querySelectorAll("details")) more.removeAttribute("open");
  return copy.outerHTML;
}

/** Carry over what was opened and chosen, but not yet sent. */
function keepForms(old, fresh) {
  for (const form of old?.querySelectorAll("form") ?? []) {
    const same = fresh.querySelector(`form[action="${form.getAttribute("action")}"]`);
    if (!same) continue;
    const more = same.closest("details");
    if (more) more.open = form.closest("details")?.open ?? more.open;
    for (const field of form.querySelectorAll("select")) {
      const wanted = same.querySelector(`select[name="${field.name}"]`);
      if (wanted && [...field.options].some((one) => one.selected !== one.defaultSelected)) wanted.value = field.value;
    }
  }
}

for (const place of document.querySelectorAll("[data-check-place]")) new DraftCheck(place).start();
