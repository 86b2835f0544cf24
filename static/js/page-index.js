/* A page longer than a few screens gets an index of its parts that stays in view; on a phone what is longest in it folds
 * (page-folds.js).
 *
 * Every page has it by page.js: parts are the headings, legends of sheets and captions of tables inside main that are shown.
 * Without this script the page is whole and long, as it was.
 */
import { foldParts, foldTables } from "./page-folds.js";

const SCREENS = 4; // longer than this, scrolling back is a search
const NARROW = "(max-width: 48rem)";
const PARTS = "h2, fieldset.sheet > legend, table > caption";

/** @param {Document} page */
export function indexPage(page) {
  const main = page.querySelector("main");
  if (!main || page.body.classList.contains("at-table") || page.querySelector(".working-down")) return;
  let reading = indexParts(page, main, true);
  // A long form that is unfolded has parts of its own, which were not there to be listed before.
  main.addEventListener("toggle", (event) => {
    const unfolded = /** @type {HTMLElement} */ (event.target);
    if (unfolded.closest(".page-index") || unfolded.offsetHeight < window.innerHeight) return;
    reading.abort();
    main.querySelector(":scope > .page-index")?.remove();
    reading = indexParts(page, main, false);
  }, true);
}

/** Put the index before all else, where the page is long; give what ends its listening to the scroll.
 * @param {Document} page @param {HTMLElement} main @param {boolean} folds */
function indexParts(page, main, folds) {
  const reading = new AbortController();
  const height = page.documentElement.scrollHeight / window.innerHeight;
  const parts = [.../** @type {NodeListOf<HTMLElement>} */ (main.querySelectorAll(PARTS))].filter((part) => part.offsetParent && nameOf(part));
  if (height <= SCREENS) return reading;
  if (window.matchMedia(NARROW).matches) {
    if (folds) foldTables(main);
    foldParts(main);
  }
  if (parts.length > 1) main.prepend(indexOf(parts, reading.signal));
  return reading;
}

const nameOf = (/** @type {HTMLElement} */ part) => (part.textContent ?? "").trim().replace(/\s+/g, " ");

/** @param {HTMLElement[]} parts @param {AbortSignal} signal */
function indexOf(parts, signal) {
  const index = document.createElement("nav");
  index.className = "page-index no-print";
  index.setAttribute("aria-label", "On this page");
  const fold = document.createElement("details");
  const here = document.createElement("summary");
  here.innerHTML = "<b>On this page</b> <span></span>";
  const list = document.createElement("ol");
  parts.forEach((part, n) => {
    part.id ||= `part-${n + 1}`;
    part.dataset.indexed = "";
    const link = document.createElement("a");
    link.href = `#${part.id}`;
    link.textContent = nameOf(part);
    const item = document.createElement("li");
    if (part.tagName === "CAPTION") item.className = "under";
    item.append(link);
    list.append(item);
  });
  list.addEventListener("click", () => { fold.open = false; });
  fold.addEventListener("keydown", (event) => {
    if (event.key !== "Escape" || !fold.open) return;
    fold.open = false;
    here.focus();
  });
  fold.append(here, list);
  index.append(fold);
  sayWhere(parts, /** @type {HTMLElement} */ (here.querySelector("span")), signal);
  return index;
}

/** Name the part that is being read, so that the index tells where one is before it is opened.
 * @param {HTMLElement[]} parts @param {HTMLElement} place @param {AbortSignal} signal */
function sayWhere(parts, place, signal) {
  let isDue = false;
  const say = () => {
    isDue = false;
    const passed = parts.filter((part) => part.offsetParent && part.getBoundingClientRect().top < 120);
    place.textContent = passed.length ? nameOf(passed[passed.length - 1]) : "";
  };
  const later = () => {
    if (!isDue) requestAnimationFrame(say);
    isDue = true;
  };
  window.addEventListener("scroll", later, { passive: true, signal });
  say();
}
