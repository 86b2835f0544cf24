/* "This", "not this" and why, kept without leaving the picture: only the captions are read again.
 *
 *   <form data-option-mark data-by-fetch> … buttons named verdict … </form> inside [data-caption]
 */
import { postForm } from "./posting.js";

export class OptionMarks {
  constructor(root, { fetchPage, say }) {
    Object.assign(this, { root, fetchPage, say });
    root.addEventListener("submit", (event) => this.submit(event));
  }

  async submit(event) {
    const form = event.target.closest("form[data-option-mark]");
    if (!form || event.defaultPrevented) return;
    event.preventDefault();
    try {
      const answer = await postForm(form, event.submitter);
      if (!answer) return;
      await this.readAgain();
      this.say(answer.sentence ?? "Your mark is kept.");
    } catch (refusal) {
      this.say(refusal.message, { wrong: true });
    }
  }

  async readAgain() {
    const fresh = await this.fetchPage();
    const [mine, theirs] = [this.root, fresh].map((page) => [...page.querySelectorAll("[data-caption]")]);
    if (mine.length !== theirs.length) return window.location.reload();
    return mine.forEach((caption, at) => caption.replaceChildren(...theirs[at].childNodes));
  }
}
