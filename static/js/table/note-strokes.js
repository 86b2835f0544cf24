/* What is drawn over the art: strokes as plain arithmetic, so it runs anywhere.
 *
 * A stroke is a list of [x, y, pressure]: x and y as fractions of the picture, pressure from 0 to 1. The server bounds
 * them likewise (rules/strokes.py).
 */
import { clamp, distanceToSegment } from "./note-geometry.js";

export const MOST_STROKES = 60;
export const MOST_POINTS = 4000;
const LEVELS = 4; // steps of pressure that are told apart
const TOLERANCE = 0.0006; // of the picture: a hair on a spread of half a metre

/** A point as it is kept; a mouse and a finger tell no pressure, so a half is taken. */
export function strokePoint([x, y], pressure) {
  const pressed = pressure > 0 ? pressure : 0.5;
  return [Math.round(clamp(x) * 1e4) / 1e4, Math.round(clamp(y) * 1e4) / 1e4, Math.round(clamp(pressed) * LEVELS) / LEVELS];
}

/** Drop points that lie on the line between their neighbours, but none where the pressure changes. */
export function thinned(stroke, tolerance = TOLERANCE) {
  const kept = stroke.slice(0, 1);
  for (let at = 1; at < stroke.length - 1; at += 1) {
    const from = kept.at(-1);
    const isStraight = distanceToSegment(stroke[at], from, stroke[at + 1]) < tolerance;
    if (!isStraight || stroke[at][2] !== from[2] || Math.hypot(stroke[at][0] - from[0], stroke[at][1] - from[1]) > 0.02) kept.push(stroke[at]);
  }
  return stroke.length > 1 ? [...kept, stroke.at(-1)] : kept;
}

export const pointsIn = (strokes) => strokes.reduce((sum, stroke) => sum + stroke.length, 0);

/** The box around a drawing, which everything that knows no strokes goes by. */
export function boxAround(strokes, margin = 0.005) {
  const [xs, ys] = [0, 1].map((axis) => strokes.flatMap((stroke) => stroke.map((point) => point[axis])));
  const low = [Math.min(...xs) - margin, Math.min(...ys) - margin].map((value) => clamp(value));
  const high = [Math.max(...xs) + margin, Math.max(...ys) + margin].map((value) => clamp(value));
  return { kind: "box", points: [low, high] };
}

/** Strokes split where the pressure changes: [{points, width}], the width as a share of the picture's longer side. */
export function runsOf(strokes) {
  const runs = [];
  for (const stroke of strokes) {
    for (let start = 0, at = 1; at <= stroke.length; at += 1) {
      if (at < stroke.length && stroke[at][2] === stroke[start][2]) continue;
      runs.push({ points: stroke.slice(start, at + 1), width: 0.002 + 0.006 * stroke[start][2] });
      start = at;
    }
  }
  return runs;
}
