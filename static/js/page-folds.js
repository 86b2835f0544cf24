/* What folds on a phone, in a page that is long: parts marked data-part behind their heading, the longest tables, and lists
 * marked data-folds.
 *
 * A way to a place in what is folded, a field in it that the browser finds wrong, and paper unfold it. What was sent back
 * or brought back to be looked at is never folded.
 */
const PART_FOLDS_AT = 1; // screens of one part
const FOLDS_AT = 2; // screens of one table or list
const LINES_SHOWN = 30; // of a long list, before it is unfolded
const TO_BE_SEEN = ".said.wrong, .typed-back, [aria-invalid=true]";

const screensOf = (/** @type {Element} */ it) => it.getBoundingClientRect().height / window.innerHeight;

/** Whether the address points at something in one of these.
 * @param {HTMLElement[]} folded */
function pointedAt(folded) {
  const place = window.location.hash.length > 1 && document.getElementById(decodeURIComponent(window.location.hash.slice(1)));
  return place && folded.some((one) => one.contains(place)) ? place : null;
}

/** Whether a part is short, or holds what is to be seen.
 * @param {HTMLElement} part */
const staysOpen = (part) =>
  screensOf(part) < PART_FOLDS_AT || part.querySelector(TO_BE_SEEN) || part.closest("form")?.querySelector(":scope > .typed-back") || pointedAt([part]);

/** Fold each long part, but for its heading, and shut the long folds that came open; a button opens and closes a part.
 * @param {Element} main */
export function foldParts(main) {
  for (const part of /** @type {NodeListOf<HTMLElement>} */ (main.querySelectorAll("[data-part]:not([data-part=folds])"))) {
    const head = /** @type {HTMLElement | null} */ (part.querySelector(":scope > h2, :scope > legend"));
    const rest = /** @type {HTMLElement[]} */ ([...part.children].filter((child) => child !== head && !(/** @type {HTMLElement} */ (child).hidden)));
    if (!head || staysOpen(part)) continue;
    part.dataset.part = "folds";
    foldPart(part, head, rest);
  }
  for (const fold of /** @type {NodeListOf<HTMLDetailsElement>} */ (main.querySelectorAll("details[data-part=shut][open]"))) {
    if (staysOpen(fold)) continue;
    fold.dataset.part = "folds";
    fold.open = false;
    fold.addEventListener("invalid", () => { fold.open = true; }, true);
  }
}

/** @param {HTMLElement} part @param {HTMLElement} head @param {HTMLElement[]} rest */
function foldPart(part, head, rest) {
  const name = (head.textContent ?? "").trim();
  const button = foldButton("");
  const show = (/** @type {boolean} */ isShown) => {
    rest.forEach((one) => { one.hidden = !isShown; });
    button.textContent = isShown ? "Fold this part" : "Show this part";
    button.setAttribute("aria-label", `${button.textContent}: ${name}`);
    button.setAttribute("aria-expanded", String(isShown));
  };
  button.addEventListener("click", () => show(rest[0].hidden));
  part.addEventListener("invalid", () => show(true), true);
  window.addEventListener("beforeprint", () => show(true));
  window.addEventListener("hashchange", () => {
    const place = pointedAt([part]);
    if (!place || !rest[0].hidden) return;
    show(true);
    place.scrollIntoView();
  });
  head.after(button);
  show(false);
}

/** @param {string} words */
function foldButton(words) {
  const button = document.createElement("button");
  Object.assign(button, { type: "button", className: "button unfold no-print", textContent: words });
  button.setAttribute("aria-expanded", "false");
  return button;
}

/** @param {Element} main */
export function foldTables(main) {
  for (const table of /** @type {NodeListOf<HTMLTableElement>} */ (main.querySelectorAll(".ruled-frame > table:not([data-whole])"))) {
    const isLong = screensOf(table) >= FOLDS_AT;
    const rows = table.tBodies.length > 1 ? [...table.tBodies].slice(1) : [...table.rows].slice(6);
    if (isLong && rows.length) foldRows(/** @type {HTMLElement} */ (table.parentElement), rows, "Show all of this table");
  }
  for (const list of /** @type {NodeListOf<HTMLElement>} */ (main.querySelectorAll("[data-folds]"))) {
    const lines = /** @type {HTMLElement[]} */ ([...list.children].slice(LINES_SHOWN));
    if (lines.length && screensOf(list) >= FOLDS_AT) foldRows(list, lines, "Show all lines");
  }
}

/** Fold rows behind a button; a way to a place in one of them, and paper, unfold them.
 * @param {HTMLElement} frame @param {HTMLElement[]} rows @param {string} words */
function foldRows(frame, rows, words) {
  if (pointedAt(rows)) return;
  const more = foldButton(words);
  const show = (/** @type {boolean} */ isShown) => rows.forEach((row) => { row.hidden = !isShown; });
  const unfold = () => {
    show(true);
    more.remove();
  };
  more.addEventListener("click", unfold);
  window.addEventListener("beforeprint", unfold);
  window.addEventListener("hashchange", () => pointedAt(rows) && unfold());
  frame.after(more);
  show(false);
}
