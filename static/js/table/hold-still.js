/* Let a column change without moving what a person has their eye, their hand or their keys on. */
let pointer = null;

const follow = (/** @type {PointerEvent} */ event) => { pointer = { x: event.clientX, y: event.clientY }; };
window.addEventListener("pointermove", follow, { passive: true });
window.addEventListener("pointerdown", follow, { passive: true });
document.addEventListener("pointerleave", () => { pointer = null; });

let isDown = false;
window.addEventListener("pointerdown", () => { isDown = true; }, { capture: true, passive: true });
for (const name of ["pointerup", "pointercancel"]) {
  window.addEventListener(name, () => { isDown = false; }, { capture: true, passive: true });
}

/** Resolves once nothing is being pressed or drawn: what is taken away in the middle of a press is not pressed. */
export async function handsOff() {
  while (isDown) await new Promise((resolve) => { window.setTimeout(resolve, 100); });
}

/** What must stay where it is: what has the focus, else what lies under the pointer, else what stands first in view. */
function anchorIn(column) {
  const focused = document.activeElement;
  if (focused !== column && column.contains(focused)) return focused;
  const under = pointer && document.elementFromPoint(pointer.x, pointer.y);
  if (under && under !== column && column.contains(under)) return under;
  const top = Math.max(0, column.getBoundingClientRect().top);
  return [...column.querySelectorAll("[data-note], form, section, p")].find((one) => one.getBoundingClientRect().bottom > top + 1) ?? null;
}

const scrollerOf = (column) =>
  (["auto", "scroll"].includes(getComputedStyle(column).overflowY) ? column : document.scrollingElement);

/** Run `change` in the column, then scroll by as much as the anchor was moved, with room made below where there is none. */
export function holdStill(column, change) {
  const anchor = anchorIn(column);
  const scroller = scrollerOf(column);
  const before = anchor?.getBoundingClientRect().top ?? 0;
  column.style.paddingBottom = "";
  change();
  if (!anchor?.isConnected) return;
  const asked = scroller.scrollTop + anchor.getBoundingClientRect().top - before;
  const missing = asked + scroller.clientHeight - scroller.scrollHeight;
  if (missing > 0 && scroller === column) {
    const padding = Number.parseFloat(getComputedStyle(column).paddingBottom);
    column.style.paddingBottom = `${padding + missing}px`;
  }
  scroller.scrollTop = asked;
}
