/* Regions of a picture as plain arithmetic: no page, no map, so it runs anywhere.
 *
 * A region is {kind, points}: "point" has one point, "box" two opposite corners (upper left, lower right),
 * "outline" three or more. Points are [x, y] as fractions of the picture, origin top left.
 */
export const KINDS = ["point", "box", "outline"];
export const MOST_POINTS = 240;
const SMALLEST = 0.002; // a box thinner than this cannot be seen or grasped, even on the widest spread

export const clamp = (value, low = 0, high = 1) => Math.min(high, Math.max(low, value));
export const roundFraction = (value) => Math.round(value * 1e5) / 1e5;
const clampPoint = ([x, y]) => [roundFraction(clamp(x)), roundFraction(clamp(y))];

export function pointRegion(at) {
  return { kind: "point", points: [clampPoint(at)] };
}

export function boxRegion(a, b) {
  const [ax, ay] = clampPoint(a);
  const [bx, by] = clampPoint(b);
  const low = [Math.min(ax, bx, 1 - SMALLEST), Math.min(ay, by, 1 - SMALLEST)];
  const high = [Math.max(ax, bx, low[0] + SMALLEST), Math.max(ay, by, low[1] + SMALLEST)];
  return { kind: "box", points: [low.map(roundFraction), high.map(roundFraction)] };
}

/** Make an outline from a drawn path; null when it is too small to mean a place. */
export function outlineRegion(path, tolerance = 0.0012) {
  const clamped = path.map(clampPoint);
  let kept = simplify(clamped, tolerance);
  for (let wider = Math.max(tolerance * 2, 1e-4); kept.length > MOST_POINTS; wider *= 2) kept = simplify(clamped, wider);
  if (kept.length > 3 && samePoint(kept[0], kept.at(-1))) kept.pop();
  const [x0, y0, x1, y1] = extentOf(kept);
  if (kept.length < 3 || x1 - x0 < SMALLEST || y1 - y0 < SMALLEST) return null;
  return { kind: "outline", points: kept };
}

const samePoint = (a, b) => Math.abs(a[0] - b[0]) < 1e-4 && Math.abs(a[1] - b[1]) < 1e-4;

/** Drop points that lie within `tolerance` of the line between their kept neighbours (Ramer 1972, Douglas and Peucker 1973). */
export function simplify(points, tolerance) {
  if (points.length < 3) return points.slice();
  const keep = new Uint8Array(points.length);
  keep[0] = keep[points.length - 1] = 1;
  const spans = [[0, points.length - 1]];
  while (spans.length) {
    const [first, last] = spans.pop();
    let worst = tolerance;
    let at = -1;
    for (let i = first + 1; i < last; i += 1) {
      const off = distanceToSegment(points[i], points[first], points[last]);
      if (off > worst) [worst, at] = [off, i];
    }
    if (at < 0) continue;
    keep[at] = 1;
    spans.push([first, at], [at, last]);
  }
  return points.filter((_, i) => keep[i]);
}

export function distanceToSegment([px, py], [ax, ay], [bx, by]) {
  const [dx, dy] = [bx - ax, by - ay];
  const length = dx * dx + dy * dy;
  const along = length ? clamp(((px - ax) * dx + (py - ay) * dy) / length) : 0;
  return Math.hypot(px - ax - along * dx, py - ay - along * dy);
}

function extentOf(points) {
  const xs = points.map((point) => point[0]);
  const ys = points.map((point) => point[1]);
  return [Math.min(...xs), Math.min(...ys), Math.max(...xs), Math.max(...ys)];
}

/** The box around a region: [x0, y0, x1, y1]. */
export function boundsOf(region) {
  return extentOf(region.points);
}

/** Where a note's flag stands: on the point, on a box's upper left corner, on an outline's highest point. */
export function anchorOf(region) {
  if (region.kind !== "outline") return region.points[0].slice();
  return region.points.reduce((highest, point) => (point[1] < highest[1] ? point : highest)).slice();
}

/** The closed ring to draw around a region; a point has none. */
export function ringOf(region) {
  if (region.kind === "point") return [];
  if (region.kind === "outline") return region.points;
  const [[x0, y0], [x1, y1]] = region.points;
  return [[x0, y0], [x1, y0], [x1, y1], [x0, y1]];
}

/** Move a region, stopping whole at the picture's edge. */
export function moved(region, dx, dy) {
  const [x0, y0, x1, y1] = boundsOf(region);
  const [mx, my] = [clamp(dx, -x0, 1 - x1), clamp(dy, -y0, 1 - y1)];
  return { kind: region.kind, points: region.points.map(([x, y]) => clampPoint([x + mx, y + my])) };
}

/** Grow or shrink a box by its lower right corner; other kinds have no size to set and are returned as they are. */
export function resized(region, dw, dh) {
  if (region.kind !== "box") return region;
  const [[x0, y0], [x1, y1]] = region.points;
  return boxRegion([x0, y0], [Math.max(x1 + dw, x0 + SMALLEST), Math.max(y1 + dh, y0 + SMALLEST)]);
}

/** A region's place in numbers, in whatever unit `across` and `down` measure the whole picture: mm, or 100 for per cent. */
export function numbersOf(region, across, down) {
  const [x0, y0, x1, y1] = boundsOf(region);
  const tidy = (value) => Math.round(value * 10) / 10;
  return { x: tidy(x0 * across), y: tidy(y0 * down), width: tidy((x1 - x0) * across), height: tidy((y1 - y0) * down) };
}

/** The region moved (and a box sized) to the given numbers.
 * @typedef {{x: number, y: number, width: number, height: number}} Numbers
 * @param {Numbers} numbers */
export function withNumbers(region, numbers, across, down) {
  const { x, y, width, height } = numbers;
  const [x0, y0] = boundsOf(region);
  if (region.kind === "box") return boxRegion([x / across, y / down], [(x + width) / across, (y + height) / down]);
  return moved(region, x / across - x0, y / down - y0);
}

/** Say where a region lies in words a person would use. */
export function placeWords(region) {
  const [x0, y0, x1, y1] = boundsOf(region);
  const third = (value, names) => names[Math.min(2, Math.floor(value * 3))];
  const down = third((y0 + y1) / 2, ["top", "middle", "bottom"]);
  const across = third((x0 + x1) / 2, ["left", "centre", "right"]);
  if (down === "middle" && across === "centre") return "in the middle";
  return `${down} ${across}`;
}

/** Whether a value read from the page is a region we can draw. */
export function isRegion(value) {
  if (!value || !KINDS.includes(value.kind) || !Array.isArray(value.points)) return false;
  const enough = { point: 1, box: 2, outline: 3 }[value.kind];
  const isPoint = (point) => Array.isArray(point) && point.length === 2 && point.every(Number.isFinite);
  return value.points.length >= enough && value.points.every(isPoint);
}
