/* Ways of looking at the art, all in one group and each with a letter: in greys, squinted, mirrored, from afar, through a
 * loupe, and at the approved version beneath while Space or a finger is held.
 *
 * The markup is templates/reviews/passages/_look.html: buttons [data-look] in the ledge. Nothing here changes the picture.
 */
import { askewPicture } from "./lying-askew.js";
import { keptCorrection, zoomAtRealSize } from "./real-size.js";

const KEYS = { v: "grey", s: "squint", r: "mirror", d: "afar", o: "loupe" };
const HOLD_MS = 450;
const STILL_PX = 8;
const NEARER = 2.5; // the loupe, over what is on the screen
const FARTHER = 2; // from afar: zoom steps below print size, so a quarter of it, as from four times as far

export class PictureLook {
  /** @param {HTMLElement} root @param {{viewer: any, board: HTMLElement, isTaken: () => boolean, address: string | null, say: (words: string) => void}} table */
  constructor(root, { viewer, board, isTaken, address, say }) {
    this.viewer = viewer;
    this.board = board;
    this.isTaken = isTaken;
    this.address = address;
    this.say = say;
    this.on = new Set();
    /** @type {any} what is approved beneath each picture, once it was asked for */
    this.approved = null;
    this.buttons = /** @type {HTMLElement[]} */ ([...root.querySelectorAll("[data-look]")]);
    for (const button of this.buttons) button.addEventListener("click", () => this.toggle(button.dataset.look));
    board.addEventListener("keydown", (event) => this.press(event));
    board.addEventListener("keyup", (event) => event.key === " " && this.hideUnder());
    board.addEventListener("blur", () => this.hideUnder());
    board.addEventListener("pointerdown", (event) => this.hold(event));
    board.addEventListener("pointermove", (event) => this.followed(event));
    for (const name of ["pointerup", "pointercancel", "pointerleave"]) board.addEventListener(name, () => this.letGo());
    viewer.addPane("under", 410);
    this.mirrorPointer();
  }

  press(event) {
    if (event.ctrlKey || event.metaKey || event.altKey || event.shiftKey || this.isTaken()) return;
    if (event.key === " " && event.target === this.board) {
      event.preventDefault();
      if (!event.repeat) this.showUnder();
      return;
    }
    const name = KEYS[event.key.toLowerCase()];
    if (!name || !this.buttons.some((button) => button.dataset.look === name)) return;
    event.preventDefault();
    this.toggle(name);
  }

  toggle(name) {
    if (name === "under") return this.under || this.isAsking ? this.hideUnder() : this.showUnder();
    if (this.on.has(name)) this.on.delete(name);
    else this.on.add(name);
    // Squinted is grey already.
    if (this.on.has(name) && name === "grey") this.on.delete("squint");
    if (this.on.has(name) && name === "squint") this.on.delete("grey");
    if (name === "afar") this.goAfar();
    if (name === "loupe") this.showLoupe();
    this.show();
  }

  show() {
    this.board.dataset.looks = [...this.on].join(" ");
    for (const button of this.buttons) {
      const name = button.dataset.look;
      button.setAttribute("aria-pressed", String(name === "under" ? Boolean(this.under) : this.on.has(name)));
    }
  }

  /** Another picture lies on the table: what lay under the last one does not lie under it. */
  shown() {
    this.hideUnder();
    this.hideLoupe();
    this.on.delete("afar");
    if (this.on.has("loupe")) this.showLoupe();
    this.show();
  }

  goAfar() {
    const { viewer } = this;
    if (!this.on.has("afar")) return this.before && viewer.map.setView(this.before.centre, this.before.zoom, { animate: false });
    this.before = { centre: viewer.map.getCenter(), zoom: viewer.zoom };
    const mm = viewer.picture.mm_per_px;
    const zoom = (mm ? zoomAtRealSize(mm, keptCorrection()) : viewer.wholeZoom) - FARTHER;
    viewer.map.setMinZoom(Math.min(viewer.map.getMinZoom(), zoom));
    return viewer.zoomTo(zoom);
  }

  // Mirrored, the board is turned over by its style; what the hand does there has to be turned over as well.
  mirrorPointer() {
    const { map, L } = this.viewer;
    const plain = map.mouseEventToContainerPoint;
    map.mouseEventToContainerPoint = (event) => {
      const at = plain.call(map, event);
      return this.on.has("mirror") ? L.point(map.getSize().x - at.x, at.y) : at;
    };
    const drag = map.dragging?._draggable;
    drag?.on("predrag", () => {
      if (this.on.has("mirror")) drag._newPos.x = 2 * drag._startPos.x - drag._newPos.x;
    });
  }

  showLoupe() {
    if (!this.on.has("loupe")) return this.hideLoupe();
    this.loupe = document.createElement("div");
    this.loupe.className = "loupe";
    this.loupe.setAttribute("aria-hidden", "true");
    this.loupe.style.backgroundImage = `url("${this.viewer.picture.preview_url}")`;
    this.board.append(this.loupe);
    const { x, y } = this.viewer.map.getSize();
    return this.lookAt({ x: x / 2, y: y / 2 });
  }

  hideLoupe() {
    this.loupe?.remove();
    this.loupe = null;
  }

  lookAt({ x, y }) {
    const { map, picture, zoom } = this.viewer;
    const [across, down] = this.viewer.fractionAt(map.containerPointToLatLng([x, y]));
    const [width, height] = [picture.width_px, picture.height_px].map((side) => side * 2 ** zoom * NEARER);
    const half = this.loupe.offsetWidth / 2;
    Object.assign(this.loupe.style, {
      left: `${x - half}px`, top: `${y - half}px`, backgroundSize: `${width}px ${height}px`,
      backgroundPosition: `${half - across * width}px ${half - down * height}px`,
    });
  }

  followed(event) {
    if (this.loupe) this.lookAt(this.viewer.map.mouseEventToContainerPoint(event));
    const start = this.holding;
    if (start && Math.hypot(event.clientX - start.x, event.clientY - start.y) > STILL_PX) this.letGo();
  }

  /** A finger or a pen held still shows what lies beneath, as Space does. */
  hold(event) {
    this.letGo();
    if (event.pointerType === "mouse" || !event.isPrimary || this.isTaken() || event.target.closest("[data-pin]")) return;
    const timer = window.setTimeout(() => this.showUnder(), HOLD_MS);
    this.holding = { x: event.clientX, y: event.clientY, timer };
  }

  letGo() {
    if (!this.holding) return;
    window.clearTimeout(this.holding.timer);
    this.holding = null;
    this.hideUnder();
  }

  async showUnder() {
    if (!this.address || this.isAsking) return;
    const { picture } = this.viewer;
    this.isAsking = true;
    this.approved ??= await this.ask();
    // Let go meanwhile, or another picture lies there: then nothing is shown any more.
    if (!this.isAsking || picture !== this.viewer.picture) return;
    const found = this.approved?.pictures[picture.id];
    if (!found) {
      this.isAsking = false;
      this.say(this.approved ? "Nothing else is approved under this picture." : "The approved version could not be asked for. Press again.");
      return;
    }
    this.under = this.layUnder(found, picture).addTo(this.viewer.map);
    this.say(found.words);
    this.show();
  }

  async ask() {
    const answer = await fetch(this.address, { credentials: "same-origin", headers: { Accept: "application/json" } }).catch(() => null);
    return answer?.ok ? answer.json() : null;
  }

  layUnder(found, picture) {
    const { L } = this.viewer;
    const at = (place) => this.viewer.at(place);
    const [x0, y0, x1, y1] = this.boxUnder(found, picture);
    const { frame, width_px: width, height_px: height } = picture;
    const options = { pane: "under", alt: found.words };
    if (!frame?.turn) return L.imageOverlay(found.url, L.latLngBounds(at([x0, y0]), at([x1, y1])), options);
    return L.svgOverlay(askewPicture(found.url, [x0, y0, x1, y1], frame.turn, width, height), L.latLngBounds(at([0, 0]), at([1, 1])), options);
  }

  /** The trims of both lie on each other; of what has none, the whole. */
  boxUnder(found, picture) {
    const [hx0, hy0, hx1, hy1] = picture.frame?.trim ?? [0, 0, 1, 1];
    const [ux0, uy0, ux1, uy1] = found.trim ?? [0, 0, 1, 1];
    const [across, down] = [(hx1 - hx0) / (ux1 - ux0), (hy1 - hy0) / (uy1 - uy0)];
    const [left, top] = [hx0 - ux0 * across, hy0 - uy0 * down];
    return [left, top, left + across, top + down];
  }

  hideUnder() {
    this.isAsking = false;
    if (!this.under) return;
    this.under.remove();
    this.under = null;
    this.say("");
    this.show();
  }
}
