/* A tap presses what was under the finger when it came down, and nothing else.
 *
 * A browser turns a tap into a click only after the finger is up, and looks anew for what lies there: what a page opened or
 * scrolled under the finger meanwhile would be pressed unseen. So a click is swallowed whose element is not the one that the
 * finger came down on; and so is a second tap on the same spot, within an eye's blink, on something else than the first.
 */
const BLINK_MS = 500;
const SPOT_PX = 32; // about a fingertip
const HELD = new Set(["click", "mousedown", "mouseup", "dblclick"]);

const isOf = (one, other) => one.contains(other) || other.contains(one);
const labelled = (one, other) => one.closest?.("label")?.control === other || other.closest?.("label")?.control === one;

export function guardTaps(root) {
  let down = null;
  let before = null;

  root.addEventListener("pointerdown", (event) => {
    if (event.pointerType === "mouse" || !event.isPrimary) {
      if (event.isPrimary) down = null;
      return;
    }
    before = down;
    down = { element: event.target, x: event.clientX, y: event.clientY, at: event.timeStamp };
  }, true);

  const isMeant = (event) => {
    if (!down || !event.isTrusted || (event.type === "click" && event.detail === 0)) return true; // by key or by script
    if (!down.element.isConnected || !(isOf(down.element, event.target) || labelled(down.element, event.target))) return false;
    if (!before || down.at - before.at > BLINK_MS) return true;
    const isSameSpot = Math.hypot(down.x - before.x, down.y - before.y) < SPOT_PX;
    return !isSameSpot || (before.element.isConnected && isOf(before.element, down.element));
  };

  for (const name of HELD) {
    root.addEventListener(name, (event) => {
      if (isMeant(event)) return;
      event.preventDefault();
      event.stopImmediatePropagation();
    }, true);
  }
}
