/* Room for the art: the letter put aside, the marks taken off, or the picture by itself on the full screen.
 *
 * The markup is templates/reviews/passages/_board.html: [data-letter-aside], [data-marks-off], [data-alone] in the ledge and
 * [data-leave-alone] over the board. L, M and F do the same while the picture has the focus; Escape leaves full screen.
 * Whether the letter lies aside is kept on this device, as the size of the screen is the device's.
 */
const KEPT = `roughproof.letter-aside.${document.documentElement.dataset.person}`; // of several at one screen, each chooses
const KEYS = { l: "letter-aside", m: "marks-off", f: "alone" };

const kept = () => {
  try {
    return localStorage.getItem(KEPT) === "yes";
  } catch {
    return false;
  }
};

function keep(isAside) {
  try {
    localStorage.setItem(KEPT, isAside ? "yes" : "no");
  } catch {
    // Then it is beside the art again on the next page.
  }
}

export class PictureAlone {
  /** @param {HTMLElement} root @param {{viewer: any, board: HTMLElement}} table */
  constructor(root, { viewer, board }) {
    this.root = root;
    this.viewer = viewer;
    this.board = board;
    this.button = (name) => /** @type {HTMLButtonElement | null} */ (root.querySelector(`[data-${name}]`));
    this.button("letter-aside")?.addEventListener("click", () => this.putLetterAside(!this.isLetterAside, { forLong: true }));
    this.button("marks-off")?.addEventListener("click", () => this.takeMarksOff(!this.areMarksOff));
    this.button("alone")?.addEventListener("click", () => this.beAlone(true));
    this.button("leave-alone")?.addEventListener("click", () => this.beAlone(false));
    board.addEventListener("keydown", (event) => this.press(event));
    document.addEventListener("keydown", (event) => event.key === "Escape" && this.isAlone && this.beAlone(false));
    document.addEventListener("fullscreenchange", () => !document.fullscreenElement && this.isAlone && this.beAlone(false));
    // The way to the answer leads into the letter.
    document.querySelector(".to-answer")?.addEventListener("click", () => this.putLetterAside(false));
    // Who is asked something there, and has no button to bring it back, always sees it.
    if (this.button("letter-aside")) this.putLetterAside(kept() && window.location.hash.length < 2);
  }

  get isLetterAside() {
    return this.root.hasAttribute("data-is-letter-aside");
  }

  get areMarksOff() {
    return this.board.hasAttribute("data-are-marks-off");
  }

  get isAlone() {
    return document.body.classList.contains("alone");
  }

  press(event) {
    const name = KEYS[event.key.toLowerCase()];
    if (!name || event.ctrlKey || event.metaKey || event.altKey || event.shiftKey) return;
    if (name === "alone") this.beAlone(!this.isAlone);
    else if (name === "marks-off") this.takeMarksOff(!this.areMarksOff);
    else if (this.button(name)?.offsetParent) this.button(name).click();
  }

  putLetterAside(isAside, { forLong = false } = {}) {
    this.root.toggleAttribute("data-is-letter-aside", isAside);
    this.button("letter-aside")?.setAttribute("aria-pressed", String(!isAside));
    if (forLong) keep(isAside);
  }

  takeMarksOff(areOff) {
    this.board.toggleAttribute("data-are-marks-off", areOff);
    this.button("marks-off")?.setAttribute("aria-pressed", String(!areOff));
  }

  /** A note that is to be read is shown whatever was out of the way. */
  showNotes() {
    this.takeMarksOff(false);
    if (!this.isAlone) this.putLetterAside(false);
  }

  /** Words are written, or come back, where they can be seen. */
  showForm() {
    if (this.isAlone) this.beAlone(false);
    this.showNotes();
  }

  beAlone(isAlone) {
    document.body.classList.toggle("alone", isAlone);
    // Where the browser gives no full screen the page still gives the picture all of its own.
    if (isAlone) document.documentElement.requestFullscreen?.().catch(() => null);
    else if (document.fullscreenElement) document.exitFullscreen().catch(() => null);
    this.viewer.map.invalidateSize({ animate: false });
    this.viewer.fit();
    if (isAlone) this.board.focus({ preventScroll: true });
    else this.button("alone")?.focus({ preventScroll: true });
  }
}
