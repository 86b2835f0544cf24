/* The earlier picture's tiles on its tracing sheet, where and while one looks nearer than its preview can show. */
import { around, laid, liftedFrom } from "./compare-laying.js";
import { factorFor, TILE, tileAt } from "./picture-tiles.js";

const MOST = 96; // more tiles than any screen needs at the right level; a guard against a map that folds the page

export class SheetTiles {
  constructor(sheet, before) {
    this.sheet = sheet;
    this.before = before;
    this.shown = new Map();
    this.share = sheet.width / before.width_px;
  }

  /** Fetch what the board shows: `seen` is its box in fractions of the newer picture, `scale` screen pixels per own pixel. */
  fetch(element, laying, seen, scale) {
    const { tiles_url: address, scale_factors: factors } = this.before;
    if (!address || !factors?.length) return;
    const factor = factorFor(Math.log2(scale * (window.devicePixelRatio || 1)), factors);
    const isFiner = 1 / factor > this.share * 1.01;
    const wanted = isFiner ? this.wanted(laying, seen, factor) : new Map();
    for (const [path, image] of this.shown) {
      if (wanted.has(path)) continue;
      image.remove();
      this.shown.delete(path);
    }
    for (const [path, place] of wanted) {
      if (!this.shown.has(path)) this.shown.set(path, this.put(element, path, place));
    }
  }

  wanted(laying, [x0, y0, x1, y1], factor) {
    const back = liftedFrom(laying);
    const tiles = new Map();
    if (!back) return tiles;
    const { width_px: width, height_px: height } = this.before;
    const span = TILE * factor;
    const [left, top, right, bottom] = around([[x0, y0], [x1, y0], [x1, y1], [x0, y1]].map((corner) => laid(back, corner)));
    const [firstX, firstY] = [Math.max(0, Math.floor((left * width) / span)), Math.max(0, Math.floor((top * height) / span))];
    const [lastX, lastY] = [Math.min(1, right) * width, Math.min(1, bottom) * height];
    for (let y = firstY; y * span < lastY; y += 1) {
      for (let x = firstX; x * span < lastX && tiles.size < MOST; x += 1) {
        const tile = tileAt(x, y, factor, width, height);
        if (tile) tiles.set(tile.path, { left: x * span, top: y * span, width: tile.cssWidth * factor, height: tile.cssHeight * factor });
      }
    }
    return tiles;
  }

  put(element, path, place) {
    const image = new Image();
    image.alt = "";
    image.decoding = "async";
    image.className = "tracing-tile";
    for (const side of ["left", "top", "width", "height"]) image.style[side] = `${place[side] * this.share}px`;
    image.src = this.before.tiles_url + path;
    // Put down once it is decoded, so that no frame of a pan waits for it; a lost tile leaves the preview visible.
    image.decode().then(() => { if (this.shown.get(path) === image) element.append(image); }, () => {});
    return image;
  }
}
