/* A printer's sheet that was scanned askew: what is laid on it by its trim lies askew with it. A turn is [degrees clockwise, x, y],
 * about a place in shares of the picture; null where it lies straight. */
import { svg } from "../text/set-text.js";

/** Where a place of the upright picture comes to lie, in its pixels. */
export function turned([x, y], turn, width, height) {
  if (!turn) return [x, y];
  const [radians, middleX, middleY] = [(turn[0] * Math.PI) / 180, turn[1] * width, turn[2] * height];
  const [cos, sin, across, down] = [Math.cos(radians), Math.sin(radians), x - middleX, y - middleY];
  return [middleX + across * cos - down * sin, middleY + across * sin + down * cos];
}

/** A picture to lie on such a sheet; `box` is where it would lie were the sheet straight, in shares of it. */
export function askewPicture(url, [x0, y0, x1, y1], turn, width, height) {
  const place = { x: x0 * width, y: y0 * height, width: (x1 - x0) * width, height: (y1 - y0) * height };
  const rotate = `rotate(${turn[0]} ${turn[1] * width} ${turn[2] * height})`;
  const image = svg("image", { ...place, href: url, preserveAspectRatio: "none", transform: rotate });
  return svg("svg", { viewBox: `0 0 ${width} ${height}`, preserveAspectRatio: "none", "aria-hidden": "true" }, image);
}
