/* Notes on the art: a numbered flag on each place and a line around it. Flags are buttons, in the order of the letter. */
import { anchorOf, boundsOf, isRegion, placeWords, ringOf } from "./note-geometry.js";
import { runsOf } from "./note-strokes.js";
import { capital } from "../words.js";

// Drawn one over the other: dark, light, red. A CSS shadow would do the same and cost every frame of a pan.
const LINES = ["mark-cast", "mark-under", "mark"];

export class NotePins {
  constructor(viewer, { onChoose }) {
    this.viewer = viewer;
    this.onChoose = onChoose;
    this.group = viewer.L.layerGroup().addTo(viewer.map);
    this.draftGroup = viewer.L.layerGroup().addTo(viewer.map);
    this.drawn = new Map();
    this.chosen = null;
  }

  draw(notes) {
    this.group.clearLayers();
    this.drawn.clear();
    const here = notes.filter((note) => note.picture === this.viewer.picture.id && note.state !== "withdrawn" && isRegion(note.region));
    for (const note of here) this.drawn.set(note.id, { note, ...this.drawOne(note) });
    this.mark(this.chosen);
  }

  /** Draw what others wrote meanwhile: a flag that has the focus keeps it. */
  drawUnder(notes) {
    if (!this.viewer.picture) return;
    const focused = /** @type {HTMLElement | null} */ (document.activeElement)?.dataset.pin;
    this.draw(notes);
    if (focused) this.drawn.get(Number(focused))?.flag.getElement()?.focus({ preventScroll: true });
  }

  drawOne(note) {
    const className = `mark ${note.is_held ? "held_back" : note.state}`;
    const lines = note.strokes?.length ? strokeLines(this.viewer, note.strokes, className) : ringLines(this.viewer, note.region, className);
    for (const line of lines) {
      line.on("click", () => this.onChoose(note.id));
      line.addTo(this.group);
    }
    const label = `${capital(note.name)}, ${placeWords(note.region)}: ${note.words.slice(0, 60)}`;
    const flag = this.viewer.L.marker(this.viewer.at(anchorOf(note.region)), {
      icon: flagIcon(this.viewer.L, note.mark, note.is_held ? "held_back" : note.state), alt: label, keyboard: true, riseOnHover: true,
    });
    flag.on("click", () => this.onChoose(note.id));
    flag.addTo(this.group);
    const element = flag.getElement();
    element.setAttribute("aria-label", label);
    element.dataset.pin = note.id;
    // Leaflet calls its markers buttons and lets them be tabbed to, but answers a key only when they carry a popup.
    element.addEventListener("keydown", (event) => {
      if (event.key !== "Enter" && event.key !== " ") return;
      event.preventDefault();
      event.stopPropagation();
      this.onChoose(note.id);
    });
    return { flag, lines };
  }

  /** Show which note is chosen; the flag comes to the front and says so to a screen reader. */
  mark(id) {
    this.chosen = id;
    for (const [noteId, { flag, lines }] of this.drawn) {
      const isChosen = noteId === id;
      flag.getElement()?.classList.toggle("chosen", isChosen);
      flag.getElement()?.setAttribute("aria-pressed", String(isChosen));
      flag.setZIndexOffset(isChosen ? 1000 : 0);
      for (const line of lines) line.getElement()?.classList.toggle("chosen", isChosen);
    }
  }

  bringIntoView(id) {
    const found = this.drawn.get(id);
    if (found) this.viewer.bringIntoView(boundsOf(found.note.region));
  }

  /** The mark being made: dashed, not yet anybody's note. `trail` is an outline that is still open.
   * @param {any} region
   * @param {{mark?: string, trail?: any[] | null, strokes?: any[] | null}} more */
  drawDraft(region, { mark = "", trail = null, strokes = null } = {}) {
    this.draftGroup.clearLayers();
    const { L } = this.viewer;
    if (strokes?.length) {
      for (const line of strokeLines(this.viewer, strokes, "mark draft")) line.addTo(this.draftGroup);
      if (region) this.draftFlag(region, mark);
      return;
    }
    if (trail?.length) {
      const points = trail.map((point) => this.viewer.at(point));
      for (const className of LINES.map((line) => `${line} draft`)) {
        L.polyline(points, { pane: "marks", interactive: false, className, fill: false }).addTo(this.draftGroup);
      }
    }
    if (!region) return;
    for (const line of ringLines(this.viewer, region, "mark draft")) line.addTo(this.draftGroup);
    this.draftFlag(region, mark);
  }

  draftFlag(region, mark) {
    const { L } = this.viewer;
    L.marker(this.viewer.at(anchorOf(region)), {
      icon: flagIcon(L, mark, "draft"), interactive: false, keyboard: false,
    }).addTo(this.draftGroup);
  }
}

/** What was drawn over the art, in lines that grow with the picture: the light ones first, under all that is red. */
export function strokeLines(viewer, strokes, className) {
  const { width_px: width, height_px: height } = viewer.picture;
  const longer = Math.max(width, height);
  const interactive = !className.includes("draft");
  const lines = [["stroke-under", 1.9], ["stroke", 1]].flatMap(([name, times]) =>
    runsOf(strokes).map((run) => {
      const points = run.points.map(([x, y]) => viewer.at([x, y]));
      const line = viewer.L.polyline(points.length > 1 ? points : [points[0], points[0]], {
        pane: "marks", className: className.replace("mark", String(name)), fill: false, interactive, smoothFactor: 0,
        lineCap: "round", lineJoin: "round", color: name === "stroke" ? "#b0201a" : "#fff", opacity: 1,
      });
      const grow = () => line.setStyle({ weight: Math.max(1, run.width * longer * 2 ** viewer.zoom) * Number(times) });
      line.on("add", () => { grow(); viewer.map.on("zoomend", grow); });
      line.on("remove", () => viewer.map.off("zoomend", grow));
      return line;
    }));
  return lines;
}

export function ringLines(viewer, region, className) {
  const ring = ringOf(region).map((point) => viewer.at(point));
  if (!ring.length) return [];
  const interactive = !className.includes("draft");
  const names = LINES.map((line) => className.replace("mark", line));
  return names.map((name) => viewer.L.polygon(ring, { pane: "marks", className: name, fill: false, interactive }));
}

/** A registration cross on the very place, a tag on a stem above it; a mark being made has no number yet. */
function flagIcon(L, mark, state) {
  const html = `<svg class="cross" viewBox="0 0 22 22" aria-hidden="true"><g class="cast"><circle cx="11" cy="11" r="5"/><path d="M11 1v20M1 11h20"/></g><g><circle cx="11" cy="11" r="5"/><path d="M11 1v20M1 11h20"/></g></svg><span class="stem"></span><span class="tag">${mark || "+"}</span>`;
  return L.divIcon({ className: `pin ${state}`, html, iconSize: [34, 42], iconAnchor: [11, 42] });
}
