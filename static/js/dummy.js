/* The dummy: the pages of a book turned by key, flick or click, without leaving the page. */
import { onFlick } from "./flick.js";

const KEYS = { ArrowRight: 1, PageDown: 1, ArrowLeft: -1, PageUp: -1 };

class Dummy {
  constructor(root) {
    this.root = root;
    this.one = (name) => root.querySelector(`[data-${name}]`);
    this.all = (name) => [...root.querySelectorAll(`[data-${name}]`)];
    this.openings = this.all("opening");
    this.at = Number(root.dataset.at);
  }

  start() {
    this.root.dataset.live = "";
    document.addEventListener("keydown", (event) => this.key(event));
    for (const link of this.all("turn")) this.onPress(link, () => this.turn(this.at + (link.dataset.turn === "after" ? 1 : -1)));
    for (const link of this.all("turn-to")) this.onPress(link, () => this.turn(Number(link.dataset.turnTo)));
    for (const link of this.all("art-link")) this.onPress(link, () => this.showArt(link.dataset.artLink));
    for (const book of this.all("open-book")) {
      book.addEventListener("click", (event) => this.clicked(event, book));
      onFlick(book, (way) => this.turn(this.at + (way === "after" ? 1 : -1)));
    }
    this.one("dummy-text").addEventListener("click", () => this.toggleText());
    this.bindFullScreen();
    this.draw();
  }

  onPress(link, deed) {
    link.addEventListener("click", (event) => {
      if (event.ctrlKey || event.metaKey || event.shiftKey || event.altKey) return;
      event.preventDefault();
      deed();
    });
  }

  get opening() {
    return this.openings[this.at - 1];
  }

  get pages() {
    return this.opening.querySelector("[data-open-book]");
  }

  /** A hand on the right-hand page turns on, on the left-hand page back. */
  clicked(event, book) {
    const { left, width } = book.getBoundingClientRect();
    this.turn(this.at + (event.clientX > left + width / 2 ? 1 : -1));
  }

  key(event) {
    if (event.ctrlKey || event.metaKey || event.altKey || event.target.closest("input, select, textarea")) return;
    const isOnBook = event.target.closest("[data-open-book]") || event.target === document.body;
    // Space on a button presses it; everywhere else it turns the page.
    const isFree = isOnBook || !event.target.closest("a, button, summary");
    const space = event.key === " " && isFree ? (event.shiftKey ? -1 : 1) : 0;
    const by = KEYS[event.key] ?? space;
    const deed = by ? () => this.turn(this.at + by) : this.otherDeed(event.key, isOnBook);
    if (!deed) return;
    event.preventDefault();
    deed();
  }

  otherDeed(key, isOnBook) {
    if (key === "Home") return () => this.turn(1);
    if (key === "End") return () => this.turn(this.openings.length);
    if (!isOnBook) return null;
    const other = this.root.dataset.art === "newest" ? "approved" : "newest";
    return { a: () => this.showArt(other), t: () => this.toggleText() }[key.toLowerCase()];
  }

  turn(to) {
    if (to < 1 || to > this.openings.length || to === this.at) return;
    const folded = this.root.querySelector("details[open]");
    const focus = document.activeElement;
    // What has the focus and goes away with this turn hands it to the pages.
    const goes = this.opening.contains(focus) || folded?.contains(focus) || this.isLastOf(focus, to);
    this.opening.hidden = true;
    this.at = to;
    this.opening.hidden = false;
    folded?.removeAttribute("open");
    this.draw();
    if (goes) this.pages.focus({ preventScroll: true });
    this.one("dummy-said").textContent = this.opening.dataset.name;
  }

  /** Say whether a handle that turns further has nothing left to turn to. */
  isLastOf(handle, to) {
    const way = /** @type {HTMLElement | null} */ (handle)?.closest("[data-turn]");
    return Boolean(way) && to === (/** @type {HTMLElement} */ (way).dataset.turn === "after" ? this.openings.length : 1);
  }

  showArt(art) {
    this.root.dataset.art = art;
    this.draw();
    this.one("dummy-said").textContent = art === "newest" ? "The newest pictures" : "Only what is approved";
  }

  toggleText() {
    const button = this.one("dummy-text");
    const shown = button.getAttribute("aria-pressed") !== "true";
    button.setAttribute("aria-pressed", String(shown));
    this.root.toggleAttribute("data-no-text", !shown);
  }

  /** Bring the pictures of what lies open, tell where we are, and fetch what comes next before it is asked for. */
  draw() {
    const { art } = this.root.dataset;
    for (const image of this.imagesOf(this.at)) image.setAttribute("href", image.dataset.href);
    for (const image of [...this.imagesOf(this.at + 1), ...this.imagesOf(this.at - 1)]) new Image().src = image.dataset.href;
    const query = (at, which) => `?at=${at}&art=${which}`;
    window.history.replaceState(window.history.state, "", query(this.at, art));
    document.title = document.title.replace(/^[^·]*/, `${this.opening.dataset.name} `);
    this.one("dummy-name").textContent = this.opening.dataset.name;
    this.one("dummy-count").textContent = `${this.at} of ${this.openings.length}`;
    for (const link of this.all("turn")) {
      const to = this.at + (link.dataset.turn === "after" ? 1 : -1);
      link.toggleAttribute("data-none", to < 1 || to > this.openings.length);
      link.setAttribute("href", query(to, art));
    }
    for (const link of this.all("turn-to")) {
      link.setAttribute("href", query(link.dataset.turnTo, art));
      if (Number(link.dataset.turnTo) === this.at) link.setAttribute("aria-current", "page");
      else link.removeAttribute("aria-current");
    }
    for (const link of this.all("art-link")) {
      link.setAttribute("href", query(this.at, link.dataset.artLink));
      if (link.dataset.artLink === art) link.setAttribute("aria-current", "true");
      else link.removeAttribute("aria-current");
    }
  }

  /** The pictures of an opening that are shown now and have not been brought yet. */
  imagesOf(number) {
    const opening = this.openings[number - 1];
    const asked = opening ? [...opening.querySelectorAll(`.art.${this.root.dataset.art} image[data-href]`)] : [];
    return asked.filter((image) => !image.hasAttribute("href"));
  }

  bindFullScreen() {
    const button = this.one("dummy-full");
    if (!document.fullscreenEnabled) button.remove();
    button.addEventListener("click", () => (document.fullscreenElement ? document.exitFullscreen() : this.root.requestFullscreen()));
    document.addEventListener("fullscreenchange", () => {
      button.setAttribute("aria-pressed", String(document.fullscreenElement === this.root));
    });
  }
}

const root = document.querySelector("[data-dummy]");
if (root) new Dummy(root).start();
