/* Making a mark: a point, a box or a freehand outline, by mouse, pen, finger or keys. Everything is decided when the pointer
 * is lifted, and nothing needs a drag: a box takes two presses, an outline takes one press per corner. */
import { boundsOf, boxRegion, moved, outlineRegion, pointRegion, resized } from "./note-geometry.js";
import { boxAround, MOST_POINTS, MOST_STROKES, pointsIn, strokePoint, thinned } from "./note-strokes.js";

const STILL_PX = 6; // a hand that moves less than this between down and up meant a press
const STEP_PX = 12;
const FINE_PX = 1;

const TELL = {
  point: "Point: press on the place. With keys: arrows move the cross, Enter sets it, Escape puts it down.",
  box: "Box: draw across the place, or press two opposite corners. With keys: arrows move, Shift and arrows size, Enter sets, Escape puts it down.",
  draw: "Draw over the art. Backspace takes the last stroke off; Enter, or Draw once more, when it is done. With keys alone, mark the place by Box.",
  outline: "Outline: draw around the place, or press corner by corner and Enter to close. With keys: arrows move, Space sets a corner, Enter closes, Escape puts it down.",
};

export class NoteMarking {
  constructor(viewer, pins, { onSet, onPutDown, say }) {
    this.viewer = viewer;
    this.pins = pins;
    this.onSet = onSet;
    this.onPutDown = onPutDown;
    this.say = say;
    this.kind = null;
    this.stroke = null;
    const board = viewer.board;
    board.addEventListener("pointerdown", (event) => this.down(event), true);
    board.addEventListener("pointermove", (event) => this.move(event), true);
    board.addEventListener("pointerup", (event) => this.up(event), true);
    board.addEventListener("pointercancel", () => this.dropStroke(), true);
    board.addEventListener("keydown", (event) => this.key(event), true);
    for (const name of ["mousedown", "click", "dblclick"]) board.addEventListener(name, (event) => this.hold(event), true);
  }

  take(kind) {
    this.putDown({ quietly: true });
    this.kind = kind;
    this.number = "";
    this.viewer.board.dataset.toolHeld = kind;
    this.viewer.map.dragging.disable();
    this.viewer.map.doubleClickZoom.disable();
    this.viewer.board.focus({ preventScroll: true });
    this.say(TELL[kind]);
  }

  putDown({ quietly = false } = {}) {
    if (!this.kind) return;
    this.kind = this.stroke = this.firstCorner = this.corners = this.draft = this.cursor = this.strokes = null;
    delete this.viewer.board.dataset.toolHeld;
    this.viewer.map.dragging.enable();
    this.viewer.map.doubleClickZoom.enable();
    this.pins.drawDraft(null);
    this.onPutDown();
    if (!quietly) this.say("");
  }

  set(region, strokes = []) {
    if (!region) {
      this.say("That was too small to mean a place. Draw a larger outline, or take the point.");
      this.corners = null;
      this.pins.drawDraft(null);
      return;
    }
    this.putDown({ quietly: true });
    this.onSet(region, strokes);
  }

  // While a tool is held, presses belong to it and not to panning or to the flags beneath.
  hold(event) {
    if (this.kind) event.stopPropagation();
  }

  down(event) {
    if (!this.kind) return;
    event.stopPropagation();
    if (!event.isPrimary) return this.dropStroke(); // a second finger means zooming, not drawing
    if (event.button !== 0) return;
    event.preventDefault();
    this.viewer.board.focus({ preventScroll: true });
    this.viewer.board.setPointerCapture(event.pointerId);
    const at = this.viewer.fractionOfEvent(event);
    this.stroke = { from: at, startX: event.clientX, startY: event.clientY, path: [at], far: false, drawn: [strokePoint(at, penPressure(event))] };
  }

  move(event) {
    if (!this.kind || !event.isPrimary) return;
    const at = this.viewer.fractionOfEvent(event);
    if (!this.stroke) return this.preview(at);
    event.stopPropagation();
    const { startX, startY } = this.stroke;
    this.stroke.far ||= Math.hypot(event.clientX - startX, event.clientY - startY) > STILL_PX;
    if (this.kind === "draw") return this.drawOn(event);
    if (!this.stroke.far) return;
    const between = event.getCoalescedEvents?.() ?? [];
    this.stroke.path.push(...(between.length ? between : [event]).map((one) => this.viewer.fractionOfEvent(one)));
    if (this.kind === "point") this.pins.drawDraft(pointRegion(at));
    if (this.kind === "box") this.pins.drawDraft(boxRegion(this.stroke.from, at));
    if (this.kind === "outline") this.pins.drawDraft(null, { trail: this.stroke.path });
  }

  /** Between two presses: show what the next one would make. */
  preview(at) {
    if (this.kind === "box" && this.firstCorner) this.pins.drawDraft(boxRegion(this.firstCorner, at));
    if (this.kind === "outline" && this.corners) this.pins.drawDraft(null, { trail: [...this.corners, at] });
  }

  up(event) {
    if (!this.kind || !this.stroke || !event.isPrimary) return;
    event.stopPropagation();
    const { from, path, far, drawn } = this.stroke;
    this.stroke = null;
    const at = this.viewer.fractionOfEvent(event);
    if (!this.isOverBoard(event)) return this.dropStroke(); // carried off the table: the hand changed its mind
    if (this.kind === "draw") return this.addStroke(drawn);
    if (this.kind === "point") return this.set(pointRegion(at));
    if (far) return this.set(this.kind === "box" ? boxRegion(from, at) : outlineRegion(path));
    if (this.kind === "box") return this.corner(at);
    return this.addCorner(at);
  }

  drawOn(event) {
    const between = event.getCoalescedEvents?.() ?? [];
    const steps = between.length ? between : [event];
    this.stroke.drawn.push(...steps.map((one) => strokePoint(this.viewer.fractionOfEvent(one), penPressure(one))));
    this.pins.drawDraft(null, { strokes: [...(this.strokes ?? []), this.stroke.drawn] });
  }

  addStroke(drawn) {
    const strokes = [...(this.strokes ?? []), thinned(drawn)];
    if (strokes.length > MOST_STROKES || pointsIn(strokes) > MOST_POINTS) {
      this.say("One note holds no more strokes. Enter, or Draw once more, and go on in another note.");
    } else {
      this.strokes = strokes;
      this.say(`${strokes.length} stroke${strokes.length === 1 ? "" : "s"}. Enter, or Draw once more, when it is done; Backspace takes the last off.`);
    }
    this.pins.drawDraft(null, { strokes: this.strokes });
  }

  takeStrokeOff() {
    if (!this.strokes?.length) return;
    this.strokes = this.strokes.slice(0, -1);
    this.pins.drawDraft(null, { strokes: this.strokes });
    this.say(`${this.strokes.length} stroke${this.strokes.length === 1 ? "" : "s"} left.`);
  }

  /** The drawing is done: its note is written. Says whether there was one. */
  finish() {
    if (this.kind !== "draw" || !this.strokes?.length) return false;
    const { strokes } = this;
    this.set(boxAround(strokes), strokes);
    return true;
  }

  isOverBoard(event) {
    const box = this.viewer.board.getBoundingClientRect();
    return event.clientX >= box.left && event.clientX <= box.right && event.clientY >= box.top && event.clientY <= box.bottom;
  }

  corner(at) {
    if (this.firstCorner) return this.set(boxRegion(this.firstCorner, at));
    this.firstCorner = at;
    this.say("One corner is set. Press the opposite one.");
  }

  addCorner(at) {
    const corners = (this.corners ??= []);
    const [nearX, nearY] = this.viewer.fractionOfPx(14);
    const closes = corners.length > 2 && Math.abs(at[0] - corners[0][0]) < nearX && Math.abs(at[1] - corners[0][1]) < nearY;
    if (closes) return this.set(outlineRegion(corners, 0));
    corners.push(at);
    this.pins.drawDraft(corners.length === 1 ? pointRegion(at) : null, { trail: corners });
    this.say(`Corner ${corners.length} is set. Press the next; press the first again, or Enter, to close.`);
  }

  dropStroke() {
    this.stroke = null;
    if (this.kind) this.pins.drawDraft(null, { strokes: this.strokes });
  }

  key(event) {
    if (!this.kind || event.ctrlKey || event.metaKey) return;
    const way = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
    if (this.kind === "draw") return this.drawKey(event);
    const deed = way ? () => this.nudge(way, event) : { Enter: () => this.enter(), Escape: () => this.putDown(), " ": () => this.space() }[event.key];
    if (!deed) return;
    event.preventDefault();
    event.stopPropagation();
    deed();
  }

  /** While drawing the keys end it or take strokes back; arrows still move the picture. */
  drawKey(event) {
    const deed = { Enter: () => this.finish() || this.say(TELL.draw), Escape: () => this.putDown(), Backspace: () => this.takeStrokeOff() }[event.key];
    if (!deed) return;
    event.preventDefault();
    event.stopPropagation();
    deed();
  }

  nudge([dx, dy], event) {
    const [stepX, stepY] = this.viewer.fractionOfPx(event.altKey ? FINE_PX : STEP_PX);
    const region = this.draft ?? this.draftInMiddle();
    this.draft = event.shiftKey ? resized(region, dx * stepX, dy * stepY) : moved(region, dx * stepX, dy * stepY);
    this.showDraft();
  }

  draftInMiddle() {
    const [x, y] = this.viewer.fractionAt(this.viewer.map.getCenter());
    if (this.kind !== "box") return pointRegion([x, y]);
    const [w, h] = this.viewer.fractionOfPx(60);
    return boxRegion([x - w, y - h], [x + w, y + h]);
  }

  showDraft() {
    this.pins.drawDraft(this.draft, { trail: this.corners && [...this.corners, this.draft.points[0]] });
    this.viewer.bringIntoView(boundsOf(this.draft));
  }

  space() {
    this.draft ??= this.draftInMiddle();
    if (this.kind !== "outline") return this.showDraft();
    this.addCorner(this.draft.points[0]);
    if (this.kind) this.showDraft();
  }

  enter() {
    if (this.kind === "outline") {
      if ((this.corners?.length ?? 0) < 3) return this.say("An outline needs three corners. Space sets one where the cross is.");
      return this.set(outlineRegion(this.corners, 0));
    }
    this.set(this.draft ?? this.draftInMiddle());
  }
}

/** A pen tells how hard it is pressed; of anything else the line is even. */
function penPressure(event) {
  return event.pointerType === "pen" ? event.pressure : 0.5;
}
