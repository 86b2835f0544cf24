/* A slip of paper at the edge of the page: what happened meanwhile, a line each with the way to it, and who else looks.
 *
 * It lies over the page and moves nothing on it. A line cannot be pressed in the moment it appears: the press was meant for
 * what lay there before.
 */
const SETTLES_MS = 900;

export class NewsSlip {
  constructor(parent) {
    this.told = new Set();
    this.slip = made("div", { className: "news-slip no-print" });
    this.who = made("p", { className: "looks-too" });
    this.lines = made("div", { className: "news-lines" });
    this.lines.setAttribute("role", "status");
    this.slip.append(this.who, this.lines);
    parent.append(this.slip);
  }

  layIn(parent) {
    if (this.slip.parentElement !== parent) parent.append(this.slip);
  }

  looking(words) {
    if (this.who.textContent !== words) this.who.textContent = words;
  }

  /** Tell one thing once; it takes the place of an older one of its kind.
   * @param {{key: string, sentence: string, url?: string, label: string, onPress?: () => void}} news */
  tell({ key, sentence, url, label, onPress }) {
    if (this.told.has(key)) return;
    this.told.add(key);
    const kind = key.replace(/-\d+$/, "");
    const way = onPress
      ? made("button", { type: "button", className: "button little", textContent: label })
      : made("a", { className: "button little", href: url, textContent: label });
    if (onPress) way.addEventListener("click", () => { line.remove(); onPress(); });
    else way.addEventListener("click", () => this.goTo(url));
    const away = made("button", { type: "button", className: "button plain little", textContent: "Not now" });
    const line = made("p", { className: "news-line" });
    line.dataset.news = kind;
    away.addEventListener("click", () => line.remove());
    line.append(`${sentence} `, way, " ", away);
    line.inert = true;
    window.setTimeout(() => { line.inert = false; }, SETTLES_MS);
    this.lines.querySelector(`[data-news="${CSS.escape(kind)}"]`)?.remove();
    this.lines.append(line);
  }

  /** The address of this very page, with a place on it or without, would not be loaded anew by a link. */
  goTo(url) {
    const to = new URL(url, document.baseURI);
    if (to.pathname === window.location.pathname && to.search === window.location.search) window.setTimeout(() => window.location.reload());
  }
}

function made(name, properties) {
  return Object.assign(document.createElement(name), properties);
}
