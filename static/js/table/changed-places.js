/* The changed places as outlines on the art, to step through heaviest first. What left its place is dashed, where it is now
 * is drawn whole, and an arrow says which way it went: told by line, not by colour. */
import { around, carriedBox } from "./compare-laying.js";

const LINES = ["place-under", "place-line"];

export class ChangedPlaces {
  constructor(viewer, { onChoose }) {
    this.viewer = viewer;
    this.onChoose = onChoose;
    this.places = [];
    this.drawn = [];
    this.at = -1;
    this.isShown = true;
    viewer.addPane("places", 425);
    this.group = viewer.L.layerGroup().addTo(viewer.map);
  }

  /** Draw the places of one comparison; `laying` carries boxes of the earlier picture onto this one. */
  draw(places, laying) {
    this.group.clearLayers();
    this.places = laying ? places : [];
    this.drawn = this.places.map((place, position) => this.drawOne(place, laying, position));
    this.at = -1;
  }

  drawOne(place, laying, position) {
    const [old, now] = [place.old, place.new].map((box) => box && carriedBox(laying, box));
    const lines = [
      ...(old ? this.line(old, place.label === "removed" || now ? "was" : "now") : []),
      ...(now ? this.line(now, "now") : []),
      ...(place.label === "moved" && old && now ? this.arrow(old, now) : []),
    ];
    const reach = around([...(old ?? []), ...(now ?? [])]);
    const tag = this.tag(place, now ?? old, position);
    return { lines, tag, reach };
  }

  line(ring, kind) {
    const points = ring.map((corner) => this.viewer.at(corner));
    return LINES.map((name) => this.viewer.L.polygon(points, {
      pane: "places", className: `${name} ${kind}`, fill: false, interactive: false,
    }).addTo(this.group));
  }

  arrow(old, now) {
    const { width_px: w, height_px: h } = this.viewer.picture;
    const [from, to] = [old, now].map((ring) => {
      const [x0, y0, x1, y1] = around(ring);
      return [((x0 + x1) / 2) * w, ((y0 + y1) / 2) * h];
    });
    const way = Math.atan2(to[1] - from[1], to[0] - from[0]);
    const head = Math.min(0.35 * Math.hypot(to[0] - from[0], to[1] - from[1]), 0.012 * w);
    const barb = (turn) => [to[0] - head * Math.cos(way + turn), to[1] - head * Math.sin(way + turn)];
    const path = [[from, to], [barb(0.5), to, barb(-0.5)]].map((line) => line.map(([x, y]) => [y, x]));
    return LINES.map((name) => this.viewer.L.polyline(path, {
      pane: "places", className: `${name} arrow`, interactive: false,
    }).addTo(this.group));
  }

  tag(place, ring, position) {
    const [, y0, x1] = around(ring);
    const icon = this.viewer.L.divIcon({
      className: "place-tag", html: `<span>${place.letter}</span>`, iconSize: [26, 24], iconAnchor: [0, 24],
    });
    const tag = this.viewer.L.marker(this.viewer.at([x1, y0]), { icon, keyboard: false, alt: "", title: place.words });
    tag.on("click", () => this.onChoose(position));
    return tag.addTo(this.group);
  }

  show(isShown) {
    this.isShown = isShown;
    if (isShown) this.group.addTo(this.viewer.map);
    else this.group.remove();
    this.mark(this.at);
  }

  mark(position) {
    this.at = position;
    this.drawn.forEach(({ lines, tag }, one) => {
      for (const line of lines) line.getElement()?.classList.toggle("chosen", one === position);
      tag.getElement()?.classList.toggle("chosen", one === position);
      tag.setZIndexOffset(one === position ? 800 : 0);
    });
  }

  choose(position) {
    this.mark(position);
    this.viewer.bringIntoView(this.drawn[position].reach);
  }

  /** Which place comes next, going round at either end. */
  stepTo(step) {
    const count = this.places.length;
    if (this.at < 0) return step > 0 ? 0 : count - 1;
    return (this.at + step + count) % count;
  }
}
