/* One picture lying on the table: pan, zoom, tiles over a preview, guides over both. Leaflet does the moving; a map unit is
 * one pixel of the picture, y downwards, so zoom 0 is pixel for pixel. */
import { textLayer } from "../text/set-text.js";
import { turned } from "./lying-askew.js";
import { factorFor, TILE, tileAt, zoomToFit } from "./picture-tiles.js";

const [ASIDE, ABOVE] = [24, 46]; // above: a flag on the very edge stands 42 px over it
const NEAREST = 3;
const TRY_AGAIN_MS = [1000, 4000];

export class PictureViewer {
  constructor(board) {
    const { L } = /** @type {any} */ (window); // Leaflet is a plain script, without types
    const still = window.matchMedia("(prefers-reduced-motion: reduce)").matches;
    this.L = L;
    this.board = board;
    this.picture = null;
    this.layers = [];
    this.guidesShown = true;
    this.textShown = true;
    this.map = L.map(board, {
      crs: L.extend({}, L.CRS.Simple, { transformation: new L.Transformation(1, 0, 1, 0) }),
      zoomControl: false, attributionControl: false, boxZoom: false, fadeAnimation: false,
      zoomAnimation: !still, inertia: !still, zoomSnap: 0, zoomDelta: 0.5, wheelPxPerZoomLevel: 110,
      minZoom: -8, maxZoom: NEAREST, maxBoundsViscosity: 0.6,
    });
    this.map.setView([0, 0], -2);
    this.map.on("zoomend resize", () => this.keepInReach());
    // The board grows and shrinks with what stands around it; a picture shown whole stays whole.
    new ResizeObserver(() => {
      const wasWhole = this.isWhole;
      this.map.invalidateSize({ pan: false });
      if (wasWhole) this.fit();
    }).observe(board);
    this.addPane("preview", 150);
    this.addPane("text", 410);
    this.addPane("guides", 420);
    this.addPane("marks", 430);
  }

  addPane(name, zIndex) {
    this.map.createPane(name).style.zIndex = String(zIndex);
    if (name !== "marks") this.map.getPane(name).style.pointerEvents = "none";
  }

  show(picture) {
    for (const layer of this.layers) layer.remove();
    this.map.setMaxBounds(null); // the last picture's reach must not pull at this one
    this.picture = picture;
    this.reach = [0, 0, 1, 1];
    const { width_px: width, height_px: height } = picture;
    const bounds = this.L.latLngBounds([[0, 0], [height, width]]);
    const preview = this.L.imageOverlay(picture.preview_url, bounds, { pane: "preview", alt: picture.name });
    this.layers = [preview];
    if (picture.tiles_url && picture.scale_factors?.length) this.layers.push(tileLayer(this.L, picture, bounds));
    this.guides = this.L.layerGroup(guideLines(this.L, picture));
    if (this.guidesShown) this.layers.push(this.guides);
    this.text = picture.frame?.text ? this.L.svgOverlay(textLayer(picture.frame.text, picture.frame.turn), bounds, { pane: "text" }) : null;
    if (this.text && this.textShown) this.layers.push(this.text);
    for (const layer of this.layers) layer.addTo(this.map);
    this.fit();
    this.keepInReach();
  }

  /** Let the art be pushed half off the table and no further, at every zoom: an empty table is a lost picture. */
  keepInReach() {
    if (!this.picture) return;
    const half = this.map.getSize().divideBy(2 * 2 ** this.zoom);
    const [x0, y0, x1, y1] = this.reachPx;
    this.map.setMaxBounds([[y0 - half.y, x0 - half.x], [y1 + half.y, x1 + half.x]]);
  }

  /** What lies on the table, in the picture's pixels: the picture, and what may be laid beside it. */
  get reachPx() {
    const [x0, y0, x1, y1] = this.reach;
    const { width_px: width, height_px: height } = this.picture;
    return [x0 * width, y0 * height, x1 * width, y1 * height];
  }

  setReach(reach) {
    this.reach = reach;
    this.keepInReach();
  }

  showGuides(shown) {
    this.guidesShown = shown;
    this.showLayer(this.guides, shown);
  }

  showText(shown) {
    this.textShown = shown;
    this.showLayer(this.text, shown);
  }

  showLayer(one, shown) {
    if (!one) return;
    if (shown) one.addTo(this.map);
    else one.remove();
    this.layers = shown ? [...new Set([...this.layers, one])] : this.layers.filter((layer) => layer !== one);
  }

  fit() {
    const [x0, y0, x1, y1] = this.reachPx;
    const size = this.map.getSize();
    const zoom = zoomToFit(x1 - x0, y1 - y0, size.x, size.y, Math.min(ASIDE, size.x * 0.04), ABOVE);
    this.map.options.minZoom = -8; // the last picture's limit would start a zoom of its own
    this.map.setView([(y0 + y1) / 2, (x0 + x1) / 2], zoom, { animate: false });
    this.map.setMinZoom(Math.min(zoom, 0) - 1);
    this.wholeZoom = zoom;
  }

  zoomTo(zoom) {
    this.map.setZoom(Math.min(zoom, NEAREST), { animate: false });
  }

  get zoom() {
    return this.map.getZoom();
  }

  get isWhole() {
    return Boolean(this.picture) && this.zoom === this.wholeZoom;
  }

  /** Fractions of the picture to map coordinates and back. */
  at([x, y]) {
    return this.L.latLng(y * this.picture.height_px, x * this.picture.width_px);
  }

  fractionAt(latLng) {
    return [latLng.lng / this.picture.width_px, latLng.lat / this.picture.height_px];
  }

  fractionOfEvent(event) {
    return this.fractionAt(this.map.mouseEventToLatLng(event));
  }

  /** How much of the picture `px` screen pixels cover, across and down. */
  fractionOfPx(px) {
    const scale = 2 ** this.zoom;
    return [px / (this.picture.width_px * scale), px / (this.picture.height_px * scale)];
  }

  /** Bring a region into view, moving no more than needed. */
  bringIntoView([x0, y0, x1, y1]) {
    const bounds = this.L.latLngBounds(this.at([x0, y0]), this.at([x1, y1]));
    if (this.map.getBounds().pad(-0.02).contains(bounds)) return;
    const fits = this.map.getBoundsZoom(bounds.pad(0.4));
    if (fits < this.zoom) this.map.setView(bounds.getCenter(), fits, { animate: false });
    else this.map.panTo(bounds.getCenter(), { animate: false });
  }
}

function tileLayer(L, picture, bounds) {
  const { width_px: width, height_px: height, scale_factors: factors, tiles_url: prefix } = picture;
  const PyramidLayer = L.GridLayer.extend({
    // Leaflet rounds the zoom before it asks which level to fetch, and would round down to a blur. Remember the zoom that
    // was really asked for, and answer with the first level that is sharp there, on screens of any density.
    _setView(center, zoom, ...rest) {
      this.askedZoom = zoom;
      L.GridLayer.prototype._setView.call(this, center, zoom, ...rest);
    },
    _clampZoom(zoom) {
      return -Math.log2(factorFor((this.askedZoom ?? zoom) + Math.log2(window.devicePixelRatio || 1), factors));
    },
    createTile(coords, done) {
      const holder = document.createElement("div");
      const tile = tileAt(coords.x, coords.y, 2 ** -coords.z, width, height);
      if (!tile) {
        window.setTimeout(() => done(null, holder));
        return holder;
      }
      const image = new Image();
      image.alt = "";
      image.decoding = "async";
      image.style.width = `${tile.cssWidth}px`;
      image.style.height = `${tile.cssHeight}px`;
      image.addEventListener("load", () => done(null, holder));
      // A meeting room's network drops a request now and then: ask again twice. Meanwhile, and if that fails too, the preview
      // is visible beneath.
      const again = TRY_AGAIN_MS.slice();
      image.addEventListener("error", () => {
        if (again.length) return window.setTimeout(() => { image.src = prefix + tile.path; }, again.shift());
        image.remove();
        return done(new Error(tile.path), holder);
      });
      image.src = prefix + tile.path;
      holder.append(image);
      return holder;
    },
  });
  return new PyramidLayer({ tileSize: TILE, bounds, noWrap: true, keepBuffer: 3, updateWhenZooming: false, minZoom: -12, maxZoom: 12 });
}

/** Every guide in non-repro blue on a black line a little wider, so that one of the two stands out of any art. */
function guideLines(L, picture) {
  const { frame, width_px: width, height_px: height } = picture;
  const place = (x, y) => turned([x * width, y * height], frame.turn, width, height).reverse();
  return ["guide-under", "guide"].flatMap((under) => (frame?.guides ?? []).map(({ kind, box: [x0, y0, x1, y1] }) => {
    const options = { pane: "guides", interactive: false, className: `${under} ${kind}`, fill: false };
    if (x0 === x1) return L.polyline([place(x0, y0), place(x1, y1)], options);
    return L.polygon([place(x0, y0), place(x1, y0), place(x1, y1), place(x0, y1)], options);
  }));
}
