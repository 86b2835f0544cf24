/* Notes of an earlier letter where their subjects are on this version: each with its letter before its number (5.1), on hollow
 * round flags, so that nobody takes them for notes of this version. A sign on the flag says what is seen there. */
import { anchorOf, boundsOf, isRegion, moved, placeWords } from "./note-geometry.js";
import { NoteMarking } from "./note-marking.js";
import { ringLines } from "./note-pins.js";
import { capital } from "../words.js";

const middleOf = (region) => {
  const [x0, y0, x1, y1] = boundsOf(region);
  return [(x0 + x1) / 2, (y0 + y1) / 2];
};
/** The note's own shape, carried so that its middle lies on the point. */
const shapeAt = (region, [x, y]) => {
  const [mx, my] = middleOf(region);
  return moved(region, x - mx, y - my);
};

export class CarriedNotes {
  constructor(viewer, { onChoose, onPlaced, onPutDown, say }) {
    this.viewer = viewer;
    this.onChoose = onChoose;
    this.say = say;
    this.group = viewer.L.layerGroup().addTo(viewer.map);
    this.draftGroup = viewer.L.layerGroup().addTo(viewer.map);
    this.drawn = new Map();
    this.chosen = null;
    this.marking = new NoteMarking(viewer, this, {
      onSet: (region) => onPlaced(this.correcting.note, this.shape(region)), onPutDown, say,
    });
  }

  /** Draw them by one of two readings: each says for itself where a subject is and what is seen there. */
  draw(notes, reading = 0) {
    this.group.clearLayers();
    this.drawn.clear();
    const read = notes.map((note) => (reading && note.other ? { ...note, ...note.other } : note));
    const here = read.filter((note) => note.picture === this.viewer.picture.id && isRegion(note.region));
    for (const note of here) this.drawn.set(note.id, this.drawOne(note));
    this.mark(this.chosen);
  }

  drawOne(note) {
    const isUnsure = note.state === "cannot-tell" && !note.is_by_hand;
    const lines = ringLines(this.viewer, note.region, `mark carried${isUnsure ? " unsure" : ""}`);
    for (const line of lines) {
      line.on("click", () => this.onChoose(note.id));
      line.addTo(this.group);
    }
    const label = `${capital(note.name)}, ${placeWords(note.region)}: ${note.evidence}`;
    const flag = this.flag(note.region, `${note.mark}<i>${note.sign}</i>`, { alt: label, keyboard: true, riseOnHover: true });
    flag.on("click", () => this.onChoose(note.id));
    flag.addTo(this.group);
    const element = flag.getElement();
    element.setAttribute("aria-label", label);
    element.dataset.carriedPin = note.id;
    element.addEventListener("keydown", (event) => {
      if (event.key !== "Enter" && event.key !== " ") return;
      event.preventDefault();
      event.stopPropagation();
      this.onChoose(note.id);
    });
    return { note, flag, lines, trail: this.trailOf(note) };
  }

  flag(region, html, options) {
    const cross = '<svg class="cross" viewBox="0 0 22 22" aria-hidden="true"><g class="cast"><circle cx="11" cy="11" r="5"/></g><circle cx="11" cy="11" r="5"/></svg>';
    const icon = this.viewer.L.divIcon({
      className: "pin carried", html: `${cross}<span class="stem"></span><span class="tag">${html}</span>`, iconSize: [40, 42], iconAnchor: [11, 42],
    });
    return this.viewer.L.marker(this.viewer.at(anchorOf(region)), { icon, ...options });
  }

  /** A note that followed its subject: a dotted thread from where the page alone would have put it. */
  trailOf(note) {
    if (note.state !== "followed" || note.is_by_hand || !isRegion(note.by_page)) return [];
    const thread = [note.by_page, note.region].map((region) => this.viewer.at(middleOf(region)));
    const options = { pane: "marks", interactive: false };
    const threads = ["thread-under", "thread"].map((className) => this.viewer.L.polyline(thread, { ...options, className }));
    return [...threads, ...ringLines(this.viewer, note.by_page, "mark draft by-page")];
  }

  /** Show which one is chosen, and only for it the thread to where the page alone would have put it. */
  mark(id) {
    this.chosen = id;
    for (const [noteId, { flag, lines, trail }] of this.drawn) {
      const isChosen = noteId === id;
      flag.getElement()?.classList.toggle("chosen", isChosen);
      flag.getElement()?.setAttribute("aria-pressed", String(isChosen));
      flag.setZIndexOffset(isChosen ? 900 : 0);
      for (const line of lines) line.getElement()?.classList.toggle("chosen", isChosen);
      for (const part of trail) if (isChosen) part.addTo(this.group); else part.remove();
    }
  }

  bringIntoView(id) {
    const found = this.drawn.get(id);
    if (found) this.viewer.bringIntoView(boundsOf(found.note.region));
  }

  /** Show by hand where a note's subject is: its own shape put down by one press or by arrow keys, or a new box. */
  correct(note, { withBox }) {
    this.correcting = { note, withBox };
    this.marking.take(withBox ? "box" : "point");
    if (withBox) return;
    this.marking.draft = { kind: "point", points: [middleOf(note.region)] };
    this.marking.showDraft();
    this.say(`Press where the subject of ${note.name} is now. With keys: arrows move it, Enter sets it, Escape leaves it.`);
  }

  shape(region) {
    const { note, withBox } = this.correcting;
    return withBox ? region : shapeAt(note.region, region.points[0]);
  }

  /** Called by the marking tool while the hand moves. */
  drawDraft(region) {
    this.draftGroup.clearLayers();
    if (!region || !this.correcting) return;
    const shape = region.kind === "point" ? this.shape({ kind: "point", points: region.points }) : region;
    const drawn = this.correcting.withBox ? region : shape;
    for (const line of ringLines(this.viewer, drawn, "mark draft")) line.addTo(this.draftGroup);
    this.flag(drawn, `${this.correcting.note.mark}<i></i>`, { interactive: false, keyboard: false }).addTo(this.draftGroup);
  }
}
