/* The review table: puts the art, the marking tools and the letter together. */
import { WhatChanged } from "./compare-changes.js";
import { bindCardCheck, barLength, keptCorrection, shareOfRealSize, zoomAtRealSize } from "./real-size.js";
import { NoteForm } from "./note-form.js";
import { NoteLetter } from "./note-letter.js";
import { NoteMarking } from "./note-marking.js";
import { NotePins } from "./note-pins.js";
import { OptionMarks } from "./option-marks.js";
import { PictureAlone } from "./picture-alone.js";
import { PictureLook } from "./picture-look.js";
import { PictureViewer } from "./picture-viewer.js";
import { SoftProof } from "./soft-proof.js";
import { SpotPlates } from "./spot-plates.js";
import { TableAddress } from "./table-address.js";
import { TableNews } from "./table-news.js";
import { onFlick } from "../flick.js";
import { post, tokenOf } from "../posting.js";
import { capital } from "../words.js";

const WIDE_ENOUGH_FOR_GUIDES = 600;

class ReviewTable {
  constructor(root, data) {
    this.root = root;
    this.data = data;
    this.one = (name) => root.querySelector(`[data-${name}]`);
    this.all = (name) => [...root.querySelectorAll(`[data-${name}]`)];
    this.pictures = data.pictures.filter((picture) => picture.state !== "refused" && picture.preview_url && picture.width_px);
    this.say = this.say.bind(this);
  }

  start() {
    this.root.dataset.live = "";
    this.waitForPictures();
    document.addEventListener("keydown", (event) => this.leaf(event), true);
    onFlick(this.root.querySelector(".art-side"), (way) => this.leafLink(way)?.click(), (target) => this.mayFlick(target));
    const letter = this.one("letter");
    this.letter = new NoteLetter(letter, {
      onChoose: (id, how) => this.choose(id, how), onEdit: (id) => this.edit(id), onChanged: () => this.readAgain(), say: this.say,
    });
    new OptionMarks(this.root, { fetchPage: () => this.letter.fetchPage(), say: this.say });
    for (const button of this.all("show-picture")) button.addEventListener("click", (event) => this.showFromButton(event));
    this.one("lay-out-all")?.addEventListener("click", () => this.layOutAll());
    this.news = new TableNews(this, { onBack: () => this.form?.sendAgain() });
    this.news.start();
    if (!this.pictures.length) return;
    this.address = new TableAddress((parts) => this.goTo(parts));
    this.openBoard();
    this.goTo(this.address.parts);
    this.bringBackTyped();
  }

  /** Show what an address asks for, now or by Back; what it does not name is closed.
   * @param {{picture?: string, laid?: string, place?: string, note?: string}} parts */
  goTo({ picture, note, laid, place }) {
    const askedNote = this.data.notes.find((one) => one.id === Number(note));
    const asked = this.pictures.find((one) => one.id === (askedNote?.picture ?? Number(picture)));
    if (asked || this.pictures.length === 1) this.show(asked ?? this.pictures[0]);
    else this.layOutAll();
    this.choose(askedNote?.id ?? null, { still: !askedNote });
    this.changes?.goTo({ laid, place });
  }

  /** Pictures still being read come by themselves: ask again until they are there, but never under a half-written note. */
  async waitForPictures(asked = 0) {
    if (asked > 60 || !this.data.pictures.some((picture) => picture.state === "received")) return;
    await new Promise((resolve) => { window.setTimeout(resolve, 2000); });
    const fresh = await this.letter.fetchPage().then((page) => this.letter.dataOf(page)).catch(() => this.data);
    const standing = (data) => JSON.stringify(data.pictures.map(({ id, state, preview_url: preview, tiles_url: tiles }) => [id, state, preview, tiles]));
    if (standing(fresh) !== standing(this.data) && !this.form?.isOpen) window.location.reload();
    else await this.waitForPictures(asked + 1);
  }

  openBoard() {
    this.setView("one");
    this.viewer = new PictureViewer(this.one("board"));
    this.pins = new NotePins(this.viewer, { onChoose: (id) => this.choose(id) });
    this.viewer.map.on("zoomend moveend", () => this.showScale());
    this.viewer.map.on("dragstart", () => this.tidySlip());
    this.plates = new SpotPlates(this.viewer, this.root, { say: this.say });
    this.bindLedge();
    this.asPrinted = new SoftProof(this);
    this.alone = new PictureAlone(this.root, { viewer: this.viewer, board: this.one("board") });
    this.look = new PictureLook(this.root, { viewer: this.viewer, board: this.one("board"), isTaken: () => this.holdsTool, address: this.data.urls.under, say: this.say });
    if (this.data.urls.changes) this.changes = new WhatChanged(this);
    if (!this.data.may.pin) return;
    this.marking = new NoteMarking(this.viewer, this.pins, {
      onSet: (region, strokes) => this.marked(region, strokes), onPutDown: () => this.toolShown(null), say: this.say,
    });
    this.form = new NoteForm(this.one("note-form"), {
      onRegion: (region) => this.pins.drawDraft(region, { mark: this.form.note?.mark, strokes: this.form.strokes }),
      onSaved: (note, how) => this.saved(note, how), onLeft: (bringBack, how) => this.left(bringBack, how), say: this.say,
    });
  }

  bindLedge() {
    const { viewer } = this;
    const ledge = this.one("ledge");
    // The slip with words lies just above the ledge, however many rows that takes on a narrow screen.
    new ResizeObserver(() => this.root.style.setProperty("--ledge-height", `${ledge.offsetHeight}px`)).observe(ledge);
    const deeds = {
      nearer: () => viewer.zoomTo(viewer.zoom + 0.5), farther: () => viewer.zoomTo(viewer.zoom - 0.5), whole: () => viewer.fit(),
      pixels: () => viewer.zoomTo(0), "real-size": () => viewer.zoomTo(zoomAtRealSize(viewer.picture.mm_per_px, keptCorrection())),
    };
    for (const button of this.all("view")) button.addEventListener("click", () => deeds[button.dataset.view]());
    this.one("guides")?.addEventListener("click", () => this.toggleGuides());
    // On a narrow board the lines would hide the art; there they are asked for.
    if (this.one("board").clientWidth < WIDE_ENOUGH_FOR_GUIDES) this.toggleGuides();
    this.one("board").addEventListener("keydown", (event) => {
      if (event.key.toLowerCase() === "g" && !event.ctrlKey && !event.metaKey && !event.altKey) this.toggleGuides();
    });
    this.one("text-off")?.addEventListener("click", () => this.toggleText());
    this.one("board").addEventListener("keydown", (event) => {
      if (event.key.toLowerCase() === "t" && !event.ctrlKey && !event.metaKey && !event.altKey) this.toggleText();
    });
    for (const button of this.all("tool")) button.addEventListener("click", () => this.takeTool(button.dataset.tool));
    bindCardCheck(document.querySelector("[data-card-dialog]"), this.one("card-open"), () => this.showScale());
  }

  toggleGuides() {
    const button = this.one("guides");
    if (button.disabled) return;
    const shown = button.getAttribute("aria-pressed") !== "true";
    button.setAttribute("aria-pressed", String(shown));
    this.viewer.showGuides(shown);
    this.showGuideKey();
  }

  toggleText() {
    const button = this.one("text-off");
    if (!button || button.hidden) return;
    const shown = button.getAttribute("aria-pressed") !== "true";
    button.setAttribute("aria-pressed", String(shown));
    this.viewer.showText(shown);
  }

  /** Name the lines that lie on this picture, while they are shown. */
  showGuideKey() {
    const kinds = new Set((this.viewer.picture?.frame?.guides ?? []).map((guide) => guide.kind));
    this.one("guide-key").hidden = !this.viewer.guidesShown || !kinds.size;
    for (const line of this.all("guide-kind")) line.hidden = !kinds.has(line.dataset.guideKind);
  }

  /** Shift and an arrow turn to the spread before or after, unless a field or a tool has the keys. */
  leaf(event) {
    const way = { ArrowLeft: "before", ArrowRight: "after" }[event.key];
    const isTaken = event.target.closest("input, textarea, select") || this.holdsTool;
    if (!way || !event.shiftKey || event.ctrlKey || event.metaKey || event.altKey || isTaken) return;
    const link = this.leafLink(way);
    if (!link) return;
    event.preventDefault();
    event.stopPropagation();
    link.click();
  }

  get holdsTool() {
    return Boolean(this.marking?.kind || this.changes?.notes.marking.kind);
  }

  leafLink(way) {
    return /** @type {HTMLAnchorElement | null} */ (document.querySelector(`[data-leaf="${way}"]`));
  }

  /** A finger turns the leaf on a picture that is shown whole; nearer to it, it moves the picture. */
  mayFlick(target) {
    if (this.holdsTool || this.form?.isOpen || target.closest(".contact-strip, .tracing-grip, .leaflet-marker-draggable")) return false;
    return !target.closest("[data-board]") || this.viewer?.isWhole;
  }

  setView(name) {
    this.root.dataset.showing = name;
  }

  show(picture) {
    if (this.viewer.picture?.id === picture.id && this.root.dataset.showing === "one") return;
    this.setView("one");
    this.marking?.putDown({ quietly: true });
    for (const caption of this.all("caption-of")) caption.hidden = Number(caption.dataset.captionOf) !== picture.id;
    this.viewer.map.invalidateSize({ animate: false });
    this.asPrinted.lift();
    this.viewer.show(picture);
    this.pins.draw(this.data.notes);
    this.plates.shown();
    this.look.shown();
    this.changes?.shown();
    if (!this.form?.isOpen) this.pins.drawDraft(null);
    for (const button of this.all("show-picture")) {
      button.toggleAttribute("aria-current", Number(button.dataset.showPicture) === picture.id);
    }
    this.root.querySelector("[data-view='real-size']")?.toggleAttribute("disabled", !picture.mm_per_px);
    this.root.querySelector("[data-guides]")?.toggleAttribute("disabled", !picture.frame?.guides.length);
    if (this.one("text-off")) this.one("text-off").hidden = !picture.frame?.text;
    this.showGuideKey();
    this.showScale();
    if (this.pictures.length > 1) this.address.set("picture", picture.id);
    const choice = this.root.querySelector(`[data-answer-here] [name=picture][value="${picture.id}"]`);
    if (choice && !this.root.querySelector("[data-answer-here] [aria-pressed=true]")) choice.checked = true;
  }

  showFromButton(event) {
    const picture = this.pictures.find((one) => one.id === Number(event.currentTarget.dataset.showPicture));
    if (!picture) return;
    event.preventDefault();
    this.show(picture);
  }

  layOutAll() {
    this.marking?.putDown({ quietly: true });
    this.setView("all");
    this.address.set("picture", null);
  }

  showScale() {
    const { picture, zoom } = this.viewer;
    if (!picture) return;
    const correction = keptCorrection();
    const mm = picture.mm_per_px;
    const percent = mm ? shareOfRealSize(zoom, mm, correction) * 100 : 2 ** zoom * 100;
    this.one("scale").textContent = `${percent < 10 ? percent.toFixed(1) : Math.round(percent)} % of ${mm ? "print size" : "the file’s pixels"}`;
    const bar = this.one("scale-bar");
    const length = mm && barLength(zoom, mm, 100);
    bar.hidden = !length;
    if (!length) return;
    bar.style.width = `${(length / mm) * 2 ** zoom}px`;
    bar.textContent = `${length} mm`;
  }

  takeTool(kind) {
    if (this.marking.kind === kind) return this.marking.finish() || this.marking.putDown();
    this.changes?.putDown();
    this.marking.take(kind);
    this.toolShown(kind);
  }

  toolShown(kind) {
    for (const button of this.all("tool")) button.setAttribute("aria-pressed", String(button.dataset.tool === kind));
    if (!kind && this.form?.isOpen) this.drawFormDraft();
  }

  drawFormDraft() {
    this.pins.drawDraft(this.form.region, { mark: this.form.note?.mark, strokes: this.form.strokes });
  }

  undoButton({ url, form }) {
    return littleButton("Undo", async () => {
      try {
        const answer = await post(url, new FormData(), tokenOf(form));
        await this.readAgain();
        this.say(answer.sentence ?? "It is back.");
      } catch (refusal) {
        this.say(refusal.message, { wrong: true });
      }
    });
  }

  marked(region, strokes) {
    const note = this.form.isOpen ? this.form.note : null;
    this.writeNote(region, note, strokes);
    this.say(strokes.length ? "It is drawn. Write what you ask for there." : "The place is marked. Write what you ask for there.");
  }

  writeNote(region, note, strokes = []) {
    this.alone.showForm();
    this.choose(note?.id ?? null, { still: true });
    this.form.open({ picture: this.viewer.picture, region, note, strokes });
    this.drawFormDraft();
  }

  edit(id) {
    const note = this.data.notes.find((one) => one.id === id);
    if (!note) return;
    if (this.form.isSendingOther(note)) {
      this.say("The note you wrote is still being sent. Wait for it, or cancel it first.", { wrong: true });
      return;
    }
    this.bringPicture(note);
    this.pins.bringIntoView(id);
    this.writeNote(note.region, note, note.strokes);
    this.say("Change the words, or take a tool and mark the place anew.");
  }

  bringPicture(note) {
    const picture = this.pictures.find((one) => one.id === note.picture);
    if (picture) this.show(picture);
    return Boolean(picture);
  }

  choose(id, { still = false, fromLetter = false } = {}) {
    const note = this.data.notes.find((one) => one.id === id);
    if (note && !this.bringPicture(note)) return;
    this.pins?.mark(note ? id : null);
    this.changes?.notes.mark(null);
    this.letter.mark(note ? id : null, { scroll: !still });
    this.address?.set("note", note ? id : null, { quiet: true });
    if (!note || still) return;
    this.alone?.showNotes();
    this.pins.bringIntoView(id);
    if (fromLetter) this.say(`${capital(note.name)} is shown on the picture.`);
    else this.say(`${capital(note.name)}: ${note.words}`, { aloudOnly: !this.alone?.isAlone });
  }

  async readAgain() {
    this.data = await this.letter.refresh();
    if (this.viewer?.picture) this.pins.draw(this.data.notes);
  }

  /** A note that got through late, by itself, is taken in like those of others: whoever pressed is elsewhere by now. */
  async saved({ id }, { wasNew, isLate, said }) {
    this.pins.drawDraft(null);
    await (isLate ? this.news.takeIn() : this.readAgain());
    if (said) this.say(said);
    const note = this.data.notes.find((one) => one.id === id);
    if (!note) return;
    if (!isLate) this.choose(id);
    this.say(`${capital(note.name)} is ${wasNew ? "written in the letter. It is not sent yet." : "changed."}`);
    // The form is gone, and its focus with it; but a hand already at the next thing is not called back.
    if (document.activeElement === document.body) this.letter.card(id)?.querySelector("[data-show-note]")?.focus({ preventScroll: true });
  }

  left(bringBack, { isUncertain }) {
    this.pins.drawDraft(null);
    this.say(isUncertain ? "Cancelled here. If it had arrived all the same, it comes into the letter." : "Nothing was written.");
    if (bringBack) this.one("said").append(" ", littleButton("Bring the words back", () => {
      bringBack();
      this.drawFormDraft();
    }));
    this.one("tool")?.focus();
  }

  /** A note that was being written when the page was left, in whatever way. */
  bringBackTyped() {
    const typed = this.form && NoteForm.typedBefore(this.pictures, this.data.notes);
    if (!typed) return;
    this.show(typed.picture);
    this.alone.showForm();
    this.form.bringBack(typed);
    this.drawFormDraft();
  }

  /** Take the slip off the art once one looks on; a refusal, a way back or a tool's instructions stay. */
  tidySlip() {
    const line = this.one("said");
    if (!line.querySelector("button") && !line.classList.contains("wrong") && !this.marking?.kind) line.textContent = "";
  }

  say(words, { wrong = false, aloudOnly = false, undo = null } = {}) {
    const line = this.one("said");
    line.textContent = words;
    if (undo) line.append(" ", this.undoButton(undo));
    line.classList.toggle("wrong", wrong);
    line.classList.toggle("only-read-aloud", aloudOnly);
  }
}

function littleButton(words, deed) {
  const button = document.createElement("button");
  Object.assign(button, { type: "button", className: "button little", textContent: words });
  button.addEventListener("click", deed);
  return button;
}

const root = document.querySelector("[data-review-table]");
if (root) new ReviewTable(root, JSON.parse(document.getElementById("table-data").textContent)).start();
