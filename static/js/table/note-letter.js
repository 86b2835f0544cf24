/* The letter beside the art: which note is chosen, and the small forms under each note, sent without leaving the table.
 * After every deed the server's own page is asked again for the notes, so what is read here is always what is stored. */
import { holdStill } from "./hold-still.js";
import { mergeNotes } from "./notes-merging.js";
import { postForm } from "../posting.js";
import { readPage } from "../read-page.js";
import { bringBack, toldIn } from "../typed/typed-words.js";

export class NoteLetter {
  constructor(column, { onChoose, onEdit, onChanged, say }) {
    this.column = column;
    this.onChoose = onChoose;
    this.onEdit = onEdit;
    this.onChanged = onChanged;
    this.say = say;
    this.turn = 0; // how often it was read after a deed of one's own
    this.reading = Promise.resolve();
    column.addEventListener("click", (event) => this.press(event));
    column.addEventListener("submit", (event) => this.submit(event));
  }

  card(id) {
    return this.column.querySelector(`[data-note="${CSS.escape(String(id))}"]`);
  }

  press(event) {
    const shower = event.target.closest("[data-show-note]");
    const editor = event.target.closest("[data-edit-note]");
    const holder = event.target.closest("[data-note]");
    if (shower) event.preventDefault();
    if (editor) this.onEdit(Number(editor.dataset.editNote));
    else if (shower) this.onChoose(Number(shower.dataset.showNote), { fromLetter: true });
    else if (holder && !event.target.closest("a, button, input, textarea, summary, label")) {
      this.onChoose(Number(holder.dataset.note), { fromLetter: true });
    }
  }

  mark(id, { scroll = true } = {}) {
    for (const card of this.column.querySelectorAll("[data-note].chosen")) card.classList.remove("chosen");
    const card = id === null ? null : this.card(id);
    if (!card) return;
    card.classList.add("chosen");
    if (scroll) card.scrollIntoView({ block: "nearest" });
  }

  async submit(event) {
    const form = event.target.closest("form[data-note-deed]");
    if (!form || event.defaultPrevented) return;
    event.preventDefault();
    try {
      const answer = await postForm(form, event.submitter);
      if (!answer) return;
      // What stands under a note is read anew with it; what does not is emptied, so that nothing is sent twice.
      if (!form.closest("[data-note]")) {
        form.reset();
        form.closest("details")?.removeAttribute("open");
      }
      const undo = answer.undo_url && { url: answer.undo_url, form };
      await this.onChanged();
      this.say(answer.is_repeated ? answer.sentence : form.dataset.noteDeed, { undo });
    } catch (refusal) {
      this.say(refusal.message, { wrong: true });
    }
  }

  /** Read the table again with the very hand-in that lies on it, though a newer one may have come. */
  async fetchPage({ by = "script" } = {}) {
    const page = await readPage(this.column.dataset.here || window.location.href, { by });
    if (!page) throw new Error("The letter could not be read again. Load the page to see it as it is now.");
    return page;
  }

  dataOf(page) {
    return JSON.parse(page.getElementById("table-data").textContent);
  }

  /** Take the notes and their data from a freshly fetched page. */
  refresh() {
    const reading = this.readAnew();
    this.reading = reading.catch(() => null);
    return reading;
  }

  async readAnew() {
    this.turn += 1;
    const fresh = await this.fetchPage();
    const [mine, theirs] = [document, fresh].map((page) => page.querySelector("[data-letter-notes]"));
    if (theirs) {
      const told = toldIn(mine);
      mine.replaceWith(document.adoptNode(theirs));
      bringBack(theirs, told); // a reply being typed under another note
    }
    return this.dataOf(fresh);
  }

  /** Take what others wrote out of a freshly fetched page, and move nothing that somebody is at. */
  takeIn(page, before, after) {
    const [mine, theirs] = [document, page].map((one) => /** @type {HTMLElement | null} */ (one.querySelector("[data-letter-notes]")));
    if (mine && theirs) holdStill(this.column, () => mergeNotes(mine, theirs, before, after));
  }
}
