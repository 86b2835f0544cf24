/* What others did while the table lies open: their notes come onto the art and into the letter, new versions and letters are
 * told on a slip, and so is who else looks. Nothing that somebody writes, looks at or is about to press is moved. */
import { Asking } from "../news/asking.js";
import { NewsSlip } from "../news/news-slip.js";
import { handsOff } from "./hold-still.js";

const EVERY_MS = 5000;

export class TableNews {
  /** @param {any} table the review table @param {{onBack: () => void}} told */
  constructor(table, { onBack }) {
    this.table = table;
    this.slip = new NewsSlip(document.body);
    this.lay();
    new MutationObserver(() => this.lay()).observe(table.root, { attributeFilter: ["data-showing"] });
    this.mark = null;
    this.nNew = 0;
    this.asking = new Asking(table.root.dataset.news, { every: EVERY_MS, onNews: (news) => this.told(news), onBack });
  }

  start() {
    this.asking.start();
  }

  /** Over the upper corner of the one picture that is shown, where no tool lies; else at the edge of the window. */
  lay() {
    const { root } = this.table;
    const place = root.dataset.showing === "one" && root.querySelector("[data-news-place]");
    this.slip.layIn(place || document.body);
  }

  async told(news) {
    this.slip.looking(news.looking);
    for (const line of news.lines) this.slip.tell(line);
    const isMoved = this.mark === null ? news.is_new : news.mark !== this.mark;
    this.mark = news.mark;
    if (!isMoved) return;
    let isTaken = false;
    try {
      isTaken = await this.takeIn();
    } finally { // a table that cannot be read is no answer: it is asked for ever more rarely
      if (!isTaken) {
        this.mark = ""; // asked once more with the next answer
        this.asking.forget();
      }
    }
  }

  /** Read the notes as they are now; says whether they could be taken in, and not while a person’s own deed is being read. */
  async takeIn() {
    const { letter } = this.table;
    await letter.reading;
    const turn = letter.turn;
    const page = await letter.fetchPage({ by: "clock" });
    await handsOff();
    if (turn !== letter.turn) return false;
    const fresh = letter.dataOf(page);
    const before = this.table.data.notes;
    if (JSON.stringify(fresh.notes) === JSON.stringify(before)) return true;
    letter.takeIn(page, before, fresh.notes);
    this.table.data = { ...this.table.data, notes: fresh.notes };
    this.table.pins?.drawUnder(fresh.notes);
    this.tellOf(fresh.notes.filter((note) => !note.mine && !before.some((known) => known.id === note.id)));
    return true;
  }

  tellOf(notes) {
    if (!notes.length) return;
    this.nNew += 1;
    const [first] = notes;
    const by = first.author ? ` by ${first.author}` : "";
    const sentence = notes.length === 1 ? `A new note${by}.` : `${notes.length} new notes.`;
    this.slip.tell({
      key: `note-${this.nNew}`, sentence, label: notes.length === 1 ? "Show it" : "Show the first",
      onPress: () => this.table.choose(first.id, { fromLetter: true }),
    });
  }
}
