/* Laying one picture on another, as plain arithmetic: no page, no map, so it runs anywhere.
 *
 * A laying {a, b, c, d, e, f} carries fractions of the earlier picture to fractions of the newer one:
 * x' = a x + b y + c, y' = d x + e y + f, origin top left. Pixels are the newer picture's own.
 */
const GAP = 0.03; // between two pictures lying beside each other, as a share of the newer one's shorter side

/** Where a point [x, y] of the earlier picture comes to lie.
 * @param {{a: number, b: number, c: number, d: number, e: number, f: number}} laying
 * @param {number[]} point */
export const laid = ({ a, b, c, d, e, f }, [x, y]) => [a * x + b * y + c, d * x + e * y + f];

/** The way back; null for a map that flattens the page. */
export function liftedFrom({ a, b, c, d, e, f }) {
  const det = a * e - b * d;
  if (Math.abs(det) < 1e-12) return null;
  const [ia, ib, id, ie] = [e / det, -b / det, -d / det, a / det];
  return { a: ia, b: ib, c: -(ia * c + ib * f), d: id, e: ie, f: -(id * c + ie * f) };
}

/** Where the corners of the earlier picture come to lie, clockwise from the upper left. */
export const cornersOf = (laying) => [[0, 0], [1, 0], [1, 1], [0, 1]].map((corner) => laid(laying, corner));

/** The upright box around points: [x0, y0, x1, y1]. */
export function around(points) {
  const xs = points.map(([x]) => x);
  const ys = points.map(([, y]) => y);
  return [Math.min(...xs), Math.min(...ys), Math.max(...xs), Math.max(...ys)];
}

/** The box {x0, y0, x1, y1} of the earlier picture, carried: the ring of its corners on the newer one. */
export const carriedBox = (laying, { x0, y0, x1, y1 }) =>
  [[x0, y0], [x1, y0], [x1, y1], [x0, y1]].map((corner) => laid(laying, corner));

/** Lay the earlier picture beside the newer one, equally large, left of it or above it: whichever shows both larger. */
export function layingBeside(before, after, room) {
  const aspect = before.width_px / before.height_px;
  const [w, h] = [after.width_px, after.height_px];
  const gap = GAP * Math.min(w, h);
  const left = { width: h * aspect, height: h };
  const above = { width: w, height: w / aspect };
  const scaleLeft = Math.min(room.x / (w + gap + left.width), room.y / h);
  const scaleAbove = Math.min(room.x / w, room.y / (h + gap + above.height));
  const [size, x, y] = scaleLeft >= scaleAbove ? [left, -gap - left.width, 0] : [above, 0, -gap - above.height];
  return { a: size.width / w, b: 0, c: x / w, d: 0, e: size.height / h, f: y / h };
}

/** The CSS matrix that puts a sheet of `sheet` pixels where a laying wants it, at a scale, from the picture's corner. */
export function cssMatrix({ a, b, c, d, e, f }, sheet, after, scale, corner) {
  const [w, h] = [after.width_px * scale, after.height_px * scale];
  const parts = [(w * a) / sheet.width, (h * d) / sheet.width, (w * b) / sheet.height, (h * e) / sheet.height];
  return [...parts, corner.x + w * c, corner.y + h * f];
}

/** The part of the newer picture that a laid sheet (a ring of its corners) covers; no corners where it covers none.
 * Cut off side by side (Sutherland and Hodgman 1974).
 * @param {number[][]} ring
 * @returns {number[][]} */
export function sharedRing(ring) {
  const sides = [[0, 0, 1], [0, 1, -1], [1, 0, 1], [1, 1, -1]]; // which coordinate, where the side lies, which way is in
  return sides.reduce((left, [axis, limit, way]) => left.flatMap((corner, i) => {
    const before = left[(i + left.length - 1) % left.length];
    const [here, there] = [corner, before].map((point) => way * (point[axis] - limit));
    const share = there / (there - here);
    const crossing = (here < 0) === (there < 0) ? [] : [corner.map((value, n) => before[n] + share * (value - before[n]))];
    return here < 0 ? crossing : [...crossing, corner];
  }), ring);
}

/** The middle of the widest strip of a sheet that is not shared: a name stands well there.
 * @param {number[][]} whole
 * @param {number[][]} shared
 * @returns {number[]} */
export function stripOf(whole, shared) {
  const [x0, y0, x1, y1] = around(whole);
  if (shared.length < 3) return [(x0 + x1) / 2, (y0 + y1) / 2];
  const [u0, v0, u1, v1] = around(shared);
  const [x, y] = [(u0 + u1) / 2, (v0 + v1) / 2];
  const strips = [[u0 - x0, (x0 + u0) / 2, y], [x1 - u1, (u1 + x1) / 2, y], [v0 - y0, x, (y0 + v0) / 2], [y1 - v1, x, (v1 + y1) / 2]];
  const [, ...middle] = strips.reduce((widest, strip) => (strip[0] > widest[0] ? strip : widest));
  return middle;
}
