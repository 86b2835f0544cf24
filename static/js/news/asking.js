/* Ask the server again and again what is new for this page, as rarely as will do, and in silence.
 *
 * Each answer carries a tag; sent back with the next question, it lets the server answer with nothing where nothing came
 * (304). A page nobody sees does not ask; one nobody touches asks seldom; one that gets no answer waits longer each time.
 */
const FIRST_MS = 1000;
const SELDOM_MS = 30_000; // less than what the server takes for looking away (queries/news.py)
const UNTOUCHED_MS = 180_000;
const LONGEST_MS = 240_000;
const PATIENCE_MS = 20_000;
const OVER = new Set([401, 403, 404, 409, 410]); // signed out, or a seat that ended: nothing will come any more

/** How long to wait for the next question, in milliseconds. */
export function waitFor({ every, failures, isUntouched }) {
  if (failures) return Math.min(every * 2 ** failures, LONGEST_MS);
  return isUntouched ? Math.max(every, SELDOM_MS) : every;
}

export class Asking {
  /** @param {string} address @param {{every: number, onNews: (news: any) => unknown, onBack?: () => void}} how */
  constructor(address, { every, onNews, onBack = () => {} }) {
    this.address = address;
    this.every = every;
    this.onNews = onNews;
    this.onBack = onBack;
    this.failures = 0;
    this.tag = "";
    this.timer = 0;
    this.isAsking = false;
    this.isOver = false;
    this.touchedAt = Date.now();
  }

  start() {
    for (const name of ["pointerdown", "keydown", "pointermove"]) {
      window.addEventListener(name, () => { this.touchedAt = Date.now(); }, { passive: true });
    }
    document.addEventListener("visibilitychange", () => this.askSoon(0));
    window.addEventListener("online", () => this.askSoon(0));
    this.askSoon(FIRST_MS);
  }

  /** Ask after so many milliseconds; a page that is not seen asks once it is. */
  askSoon(wait) {
    window.clearTimeout(this.timer);
    if (this.isOver || document.hidden) return;
    this.timer = window.setTimeout(() => this.ask(), wait);
  }

  /** Whatever is answered next counts as new: what was told last could not be taken in. */
  forget() {
    this.tag = "";
  }

  async ask() {
    if (this.isAsking) return;
    this.isAsking = true;
    const isDone = await this.once().catch(() => false);
    this.isAsking = false;
    const wasAway = this.failures > 0;
    this.failures = isDone ? 0 : this.failures + 1;
    if (isDone && wasAway) this.onBack();
    this.askSoon(waitFor({ every: this.every, failures: this.failures, isUntouched: Date.now() - this.touchedAt > UNTOUCHED_MS }));
  }

  /** Whether an answer came. */
  async once() {
    const headers = { Accept: "application/json", "X-Read-By": "clock", ...(this.tag && { "If-None-Match": this.tag }) };
    const answer = await fetch(this.address, {
      credentials: "same-origin", cache: "no-store", headers, signal: AbortSignal.timeout(PATIENCE_MS),
    });
    this.isOver = OVER.has(answer.status);
    if (answer.status === 304 || this.isOver) return true;
    if (!answer.ok) return false;
    const news = await answer.json();
    this.tag = answer.headers.get("ETag") ?? "";
    await this.onNews(news);
    return true;
  }
}
