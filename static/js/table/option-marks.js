/* "This", "not this" and why, kept without leaving the picture: only the captions are read again. What became of it is said
 * under the form: a slip on the table's edge would lie on the next option's field, on a phone.
 *
 *   <form data-option-mark data-by-fetch> … buttons named verdict … </form> inside [data-caption]
 */
import { postForm } from "../posting.js";
import { bringBack, toldIn } from "../typed/typed-words.js";

export class OptionMarks {
  constructor(root, { fetchPage, say }) {
    this.root = root;
    this.fetchPage = fetchPage;
    this.say = say;
    root.addEventListener("submit", (event) => this.submit(event));
  }

  async submit(event) {
    const form = event.target.closest("form[data-option-mark]");
    if (!form || event.defaultPrevented) return;
    event.preventDefault();
    const mark = { at: this.captions(this.root).indexOf(form.closest("[data-caption]")), verdict: event.submitter?.value };
    try {
      const answer = await postForm(form, event.submitter);
      if (!answer) return;
      await this.readAgain();
      this.tell(answer.sentence ?? "Your mark is kept.", mark);
    } catch (refusal) {
      this.tell(refusal.message, { ...mark, wrong: true });
    }
  }

  captions(page) {
    return [...page.querySelectorAll("[data-caption]")];
  }

  tell(words, { at, verdict, wrong = false }) {
    for (const old of this.root.querySelectorAll("[data-mark-said]")) old.remove();
    const form = this.captions(this.root)[at]?.querySelector("form[data-option-mark]");
    if (!form) return this.say(words, { wrong });
    const line = document.createElement("p");
    line.className = `option-said${wrong ? " wrong" : ""}`;
    line.dataset.markSaid = "";
    line.textContent = words;
    form.append(line);
    // The form was read anew, and its focus with it; a hand already at the next thing is not called back.
    const pressed = form.querySelector(`button[value="${CSS.escape(verdict ?? "")}"]`);
    const button = pressed ?? form.querySelector('button[name="verdict"]'); // a mark taken back takes its button along
    if (document.activeElement === document.body) button?.focus({ preventScroll: true });
    this.say(words, { aloudOnly: true });
  }

  async readAgain() {
    const fresh = await this.fetchPage();
    const [mine, theirs] = [this.root, fresh].map((page) => this.captions(page));
    if (mine.length !== theirs.length) return window.location.reload();
    const told = toldIn(this.root);
    mine.forEach((caption, at) => caption.replaceChildren(...theirs[at].childNodes));
    return bringBack(this.root, told); // reasons typed beside the other options
  }
}
