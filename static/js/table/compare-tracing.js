/* The earlier version as a sheet of tracing paper on the board: laid over the art or beside it, fainter or stronger, pulled
 * back from its left edge. It lies in the map's own pane, so panning moves both pictures in one step of the compositor. */
import { around, cornersOf, cssMatrix, laid, liftedFrom } from "./compare-laying.js";
import { SheetTiles } from "./compare-tiles.js";

const PREVIEW_PX = 2048;

export class TracingSheet {
  constructor(viewer, { onPull }) {
    this.viewer = viewer;
    this.onPull = onPull;
    this.strength = 0.6;
    this.pull = 0;
    this.laying = null;
    viewer.addPane("tracing", 300);
    this.edges = viewer.L.layerGroup().addTo(viewer.map);
    this.layer = this.makeLayer();
    viewer.map.on("moveend zoomend", () => this.settle());
  }

  get isLaid() {
    return Boolean(this.laying);
  }

  makeLayer() {
    const { L, map } = this.viewer;
    const put = (zoom, corner) => this.put(zoom, corner);
    const Sheet = L.Layer.extend({
      getEvents() {
        const events = { zoom: this.again, viewreset: this.again };
        if (this._zoomAnimated) events.zoomanim = this.follow;
        return events;
      },
      again() { put(map.getZoom(), map.latLngToLayerPoint([0, 0])); },
      follow({ zoom, center }) { put(zoom, map._latLngToNewLayerPoint(L.latLng(0, 0), zoom, center)); },
      onAdd: () => { map.getPane("tracing").append(this.element); this.layer.again(); },
      onRemove: () => this.element.remove(),
    });
    return new Sheet();
  }

  lay(before, laying, { isBeside, name }) {
    this.lift();
    this.before = before;
    this.laying = laying;
    this.isBeside = isBeside;
    this.name = name;
    const share = Math.min(1, PREVIEW_PX / Math.max(before.width_px, before.height_px));
    this.sheet = { width: before.width_px * share, height: before.height_px * share };
    this.element = document.createElement("div");
    this.element.className = "tracing-sheet leaflet-zoom-animated";
    const image = new Image(this.sheet.width, this.sheet.height);
    image.alt = "";
    image.src = before.preview_url;
    this.element.append(image);
    Object.assign(this.element.style, { width: `${this.sheet.width}px`, height: `${this.sheet.height}px` });
    this.tiles = new SheetTiles(this.sheet, before);
    this.layer.addTo(this.viewer.map);
    this.drawEdges();
    this.show();
    this.settle();
  }

  lift() {
    if (!this.laying) return;
    this.layer.remove();
    this.edges.clearLayers();
    this.laying = this.grip = null;
  }

  put(zoom, corner) {
    const matrix = cssMatrix(this.laying, this.sheet, this.viewer.picture, 2 ** zoom, corner);
    this.element.style.transform = `matrix(${matrix.map((part) => part.toFixed(6)).join(",")})`;
  }

  set({ strength = this.strength, pull = this.pull }) {
    this.strength = strength;
    this.pull = pull;
    if (this.laying) this.show();
  }

  show() {
    const isOver = !this.isBeside;
    this.element.style.opacity = String(isOver ? this.strength : 1);
    this.element.style.clipPath = isOver && this.pull > 0 ? `inset(0 0 0 ${this.pull * 100}%)` : "";
    this.placeGrip();
  }

  /** Once the board lies still: fetch the tiles it shows, and keep the grip in sight. */
  settle() {
    if (!this.laying) return;
    const { a, b, d, e } = this.laying;
    const { width_px: width, height_px: height } = this.viewer.picture;
    const size = Math.sqrt(Math.abs(a * e - b * d) * width * height / (this.before.width_px * this.before.height_px));
    this.tiles.fetch(this.element, this.laying, this.seen, size * 2 ** this.viewer.zoom);
    this.placeGrip();
  }

  /** What the board shows, in fractions of the newer picture: [x0, y0, x1, y1]. */
  get seen() {
    const bounds = this.viewer.map.getBounds();
    return around([bounds.getSouthWest(), bounds.getNorthEast()].map((corner) => this.viewer.fractionAt(corner)));
  }

  /** Show how far the sheet reaches, and a grip on the edge that is pulled back. */
  drawEdges() {
    const { L } = this.viewer;
    const ring = cornersOf(this.laying).map((corner) => this.viewer.at(corner));
    for (const className of ["tracing-edge-under", "tracing-edge"]) {
      L.polygon(ring, { pane: "guides", className, fill: false, interactive: false }).addTo(this.edges);
    }
    this.nameSheet();
    if (this.isBeside) return;
    this.pulled = ["tracing-edge-under", "tracing-edge pulled"].map((className) =>
      L.polyline([], { pane: "guides", className, interactive: false }).addTo(this.edges));
    const icon = L.divIcon({ className: "tracing-grip", html: "<i></i>", iconSize: [28, 44], iconAnchor: [14, 22] });
    this.grip = L.marker([0, 0], { icon, draggable: true, keyboard: false, zIndexOffset: -500 }).addTo(this.edges);
    this.grip.on("drag", () => this.dragged());
    this.grip.on("dragend", () => this.placeGrip());
  }

  /** The sheet carries its name on its upper edge, so that nobody takes the old for the new. */
  nameSheet() {
    const slip = document.createElement("span");
    slip.textContent = this.name;
    const icon = this.viewer.L.divIcon({ className: "tracing-name", html: slip, iconSize: null, iconAnchor: [0, 26] });
    const corner = this.viewer.at(laid(this.laying, [0, 0]));
    this.viewer.L.marker(corner, { icon, interactive: false, keyboard: false }).addTo(this.edges);
  }

  dragged() {
    const back = liftedFrom(this.laying);
    if (!back) return;
    const [x] = laid(back, this.viewer.fractionAt(this.grip.getLatLng()));
    this.pull = Math.min(1, Math.max(0, x));
    this.element.style.clipPath = `inset(0 0 0 ${this.pull * 100}%)`;
    this.drawPulled();
    this.onPull(this.pull);
  }

  drawPulled() {
    const ends = [[this.pull, 0], [this.pull, 1]].map((end) => this.viewer.at(laid(this.laying, end)));
    for (const line of this.pulled) line.setLatLngs(ends);
  }

  /** Keep the grip in sight: half way down the part of the edge that is on the board. */
  placeGrip() {
    if (!this.laying || this.isBeside || !this.grip) return;
    this.drawPulled();
    const [, top, , bottom] = this.seen;
    const [[, y0], [, y1]] = [[this.pull, 0], [this.pull, 1]].map((end) => laid(this.laying, end));
    const middle = (Math.max(top, y0) + Math.min(bottom, y1)) / 2;
    const along = Math.min(1, Math.max(0, (middle - y0) / (y1 - y0 || 1)));
    this.grip.setLatLng(this.viewer.at(laid(this.laying, [this.pull, along])));
  }

  /** The part of the table both pictures cover, in fractions of the newer one. */
  get reach() {
    return around([[0, 0], [1, 1], ...(this.laying ? cornersOf(this.laying) : [])]);
  }
}
