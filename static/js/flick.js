/* A flick of one finger turns on or back, as a page of paper is turned:
 *   onFlick(board, (way) => turnTo(way), () => picture.isWhole) */
const LEAST_PX = 60;
const LONGEST_MS = 700;

/**
 * A page that is enlarged by two fingers is moved about in, not turned.
 * @param {HTMLElement} place where the finger comes down; fields keep their own way of sliding
 * @param {(way: "before" | "after") => void} turn
 * @param {(target: Element) => boolean} [may] asked as the finger comes down
 */
export function onFlick(place, turn, may = () => true) {
  let from = null;
  const options = { passive: true, capture: true };
  place.addEventListener("touchstart", (event) => {
    const target = /** @type {Element} */ (event.target);
    const isOne = event.touches.length === 1 && !target.closest("input, select, textarea") && (window.visualViewport?.scale ?? 1) < 1.01;
    const finger = event.touches[0];
    from = isOne && may(target) ? { x: finger.clientX, y: finger.clientY, at: event.timeStamp } : null;
  }, options);
  place.addEventListener("touchcancel", () => { from = null; }, options);
  place.addEventListener("touchend", (event) => {
    const way = from && flickOf(from, event.changedTouches[0], event.timeStamp - from.at);
    from = null;
    if (way) turn(way);
  }, options);
}

/** Read a flick: far enough, quick enough, and more across than down. */
export function flickOf({ x, y }, { clientX, clientY }, ms) {
  const [across, down] = [clientX - x, clientY - y];
  if (Math.abs(across) < LEAST_PX || Math.abs(across) < 2 * Math.abs(down) || ms > LONGEST_MS) return null;
  return across < 0 ? "after" : "before";
}
