/* Which tile files make up a picture at which size: IIIF Image API level 0, 512 px tiles clipped at the edges. */
export const TILE = 512;

/** The tile in column x, row y of the level that is `factor` times smaller; null outside the picture. */
export function tileAt(x, y, factor, width, height) {
  const span = TILE * factor;
  const [left, top] = [x * span, y * span];
  if (x < 0 || y < 0 || left >= width || top >= height) return null;
  const [across, down] = [Math.min(span, width - left), Math.min(span, height - top)];
  const [outWidth, outHeight] = [Math.ceil(across / factor), Math.ceil(down / factor)];
  return {
    path: `${left},${top},${across},${down}/${outWidth},${outHeight}/0/default.jpg`,
    // Shown at the exact share of the level, so that an edge tile's rounding never shifts the art.
    cssWidth: across / factor,
    cssHeight: down / factor,
  };
}

/** The level to fetch when one picture pixel covers 2^zoom screen pixels: never blurred if a sharper one exists. */
export function factorFor(zoom, factors) {
  const wanted = 2 ** -zoom;
  const sharp = factors.filter((factor) => factor <= wanted * 1.0001);
  return sharp.length ? Math.max(...sharp) : Math.min(...factors);
}

/** The zoom at which a whole picture fits a box, leaving px free left and right, above and below. */
export function zoomToFit(width, height, boxWidth, boxHeight, aside, above) {
  const scale = Math.min((boxWidth - 2 * aside) / width, (boxHeight - 2 * above) / height);
  return Math.log2(Math.max(scale, 1e-4));
}
