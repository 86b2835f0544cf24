/* The paragraph being written: words, cause and place of one note, new or edited. The place can be set by numbers too. */
import { isRegion, numbersOf, placeWords, withNumbers } from "./note-geometry.js";
import { goOnWith, postForm, pressOf } from "../posting.js";
import { backLine, typedStore } from "../typed/typed-words.js";

const FIELDS = ["x", "y", "width", "height"];
const KEPT_AS = "note"; // on this device, with its place: see typed-words.js
const LOST = "The answer did not arrive. Your note is kept on this device, and is sent again by itself.";
const LOST_UNKEPT = "The answer did not arrive. Keep this page open: your note is sent again by itself.";
const AGAIN_MS = 4000; // and twice as long each time, up to a minute
const LONGEST_MS = 60_000;

export class NoteForm {
  constructor(form, { onRegion, onSaved, onLeft, say }) {
    this.form = form;
    this.onRegion = onRegion;
    this.onSaved = onSaved;
    this.onLeft = onLeft;
    this.say = say;
    this.newAction = form.action;
    this.part = (name) => form.querySelector(`[data-${name}]`);
    form.addEventListener("submit", (event) => this.send(event));
    this.part("leave").addEventListener("click", () => this.leave());
    form.addEventListener("change", () => this.askForLine());
    this.part("numbers").addEventListener("input", () => this.readNumbers());
    this.isUnsent = false; // it was pressed, and did not get through
    this.isUncertain = false; // nobody knows whether a press of it arrived
    this.isByItself = false; // what is sent now was not pressed now
    this.nLost = 0;
    for (const name of ["input", "change"]) form.addEventListener(name, () => this.typed());
    form.addEventListener("keydown", (event) => {
      if (event.key === "Escape") this.leave();
      if (event.key === "Enter" && (event.ctrlKey || event.metaKey)) form.requestSubmit();
    });
  }

  get isOpen() {
    return !this.form.hidden;
  }

  /** Whether a note is on its way that is not this one: another may be opened once it is there, or put away. */
  isSendingOther(note) {
    return this.isOpen && this.isUnsent && this.note?.id !== note?.id;
  }

  /** Open for a new note, or for `note`; words already being written are kept when only the place changes. */
  open({ picture, region, note = null, strokes = [] }) {
    const goesOn = this.isOpen && this.note?.id === note?.id;
    this.picture = picture;
    this.note = note;
    this.form.action = note ? note.url : this.newAction;
    if (!goesOn) {
      this.form.elements.words.value = note?.own_words || note?.words || "";
      this.pickCause(note?.cause ?? null, note?.brief_line ?? "", note?.error ?? "");
    }
    this.part("mark").textContent = note?.mark ?? "+"; // its number depends on its place among the others
    this.part("send-words").textContent = note ? "Keep the changes" : "Write it in the letter";
    this.form.hidden = false;
    if (!goesOn) this.form.elements.seen.value = note?.seen ?? "";
    if (!goesOn) this.form.querySelector(".typed-back")?.remove();
    this.wrong("");
    this.isUnsent = false; // at another place it is sent when they say so
    this.setRegion(region, strokes);
    this.form.elements.words.focus({ preventScroll: true });
    this.form.scrollIntoView({ block: "nearest" });
  }

  /** Somebody goes on writing: then it is sent when they say so. */
  typed() {
    if (this.isUnsent) this.wrong("");
    this.isUnsent = false;
    this.keepTyped();
  }

  /** Keep what is typed, and where, on this device. */
  keepTyped() {
    const { words, cause, brief_line: line, error } = this.form.elements;
    const base = this.note?.own_words ?? "";
    if (!words.value.trim() || words.value === base) return typedStore.forget(KEPT_AS);
    const fields = { words: { value: words.value, base } };
    const said = { cause: cause.value, line: line?.value ?? "", error: error?.value ?? "" };
    const place = { picture: this.picture.id, region: this.region, strokes: this.strokes, note: this.note?.id ?? null, ...said };
    return typedStore.keep(KEPT_AS, { at: Date.now(), title: document.title.split(" · ")[0], fields, place });
  }

  /** What was typed here and not sent, if its picture still lies on the table. */
  static typedBefore(pictures, notes) {
    const entry = typedStore.read(KEPT_AS);
    const picture = pictures.find((one) => one.id === entry?.place?.picture);
    const note = notes.find((one) => one.id === entry?.place?.note && one.may_edit) ?? null;
    if (!picture || !isRegion(entry.place.region)) return null;
    if (note?.own_words !== entry.fields.words.value) return { ...entry, picture, note };
    typedStore.forget(KEPT_AS);
    return null;
  }

  /** Open with what was typed before, and say so. */
  bringBack({ picture, note, ...kept }) {
    const { place, fields, at } = kept;
    this.open({ picture, region: place.region, note, strokes: place.strokes ?? [] });
    this.form.elements.words.value = fields.words.value;
    this.pickCause(place.cause, place.line, place.error);
    typedStore.keep(KEPT_AS, kept); // to be there after the next reload too
    if (place.press) goOnWith(this.form, place.press);
    const moved = note && note.own_words !== fields.words.base ? [note.own_words] : [];
    this.form.prepend(backLine(at, moved, { onDrop: () => this.leave() }));
  }

  /** Another tab wrote this note meanwhile: show both; what is sent next is meant to stand instead. */
  showBoth({ said, seen }) {
    this.form.querySelector(".typed-back")?.remove();
    this.form.elements.seen.value = seen;
    this.form.prepend(backLine(Date.now(), [said], {
      onDrop: () => {
        this.form.elements.words.value = said;
        typedStore.forget(KEPT_AS);
        this.wrong("");
      },
    }));
  }

  pickCause(code, line = "", error = "") {
    for (const choice of this.form.querySelectorAll("[name=cause]")) choice.checked = choice.value === code;
    const lines = this.form.elements.brief_line;
    if (lines) lines.value = line;
    if (this.form.elements.error) this.form.elements.error.value = error;
    this.askForLine();
  }

  /** The line of the brief is asked for only where the brief was missed; only then must it be chosen. */
  askForLine() {
    const field = this.part("brief-line");
    if (!field) return;
    const isMissed = this.form.elements.cause.value === "brief";
    field.hidden = !isMissed;
    this.form.elements.brief_line.required = isMissed;
  }

  setRegion(region, strokes = []) {
    this.region = region;
    this.strokes = strokes;
    this.form.elements.picture.value = this.picture.id;
    this.form.elements.region.value = JSON.stringify(region);
    const kinds = { point: "A point", box: "A box", outline: "An outline" };
    this.form.elements.strokes.value = strokes.length ? JSON.stringify(strokes) : "";
    this.part("place").textContent = `${strokes.length ? "A drawing" : kinds[region.kind]}, ${placeWords(region)}`;
    this.part("numbers").closest("details").hidden = strokes.length > 0;
    this.showNumbers();
    if (this.form.elements.words.value) this.keepTyped();
  }

  get unit() {
    const { mm_per_px: mm, width_px: width, height_px: height } = this.picture;
    return mm ? { words: "mm", across: width * mm, down: height * mm } : { words: "% of the picture", across: 100, down: 100 };
  }

  showNumbers() {
    const { across, down, words } = this.unit;
    const numbers = numbersOf(this.region, across, down);
    for (const name of FIELDS) this.part(`at-${name}`).value = numbers[name];
    const isBox = this.region.kind === "box";
    for (const name of ["width", "height"]) this.part(`at-${name}`).closest("label").hidden = !isBox;
    this.part("unit").textContent = `Measured in ${words} from the picture’s upper left corner.`;
  }

  readNumbers() {
    const numbers = /** @type {import("./note-geometry.js").Numbers} */ (
      Object.fromEntries(FIELDS.map((name) => [name, Number.parseFloat(this.part(`at-${name}`).value)])));
    if (!isBoxed(this.region)) numbers.width = numbers.height = 0;
    if (!Object.values(numbers).every(Number.isFinite)) return; // half typed
    const region = withNumbers(this.region, numbers, this.unit.across, this.unit.down);
    if (!isRegion(region)) return;
    this.region = region;
    this.keepTyped();
    this.form.elements.region.value = JSON.stringify(region);
    this.onRegion(region);
  }

  wrong(sentence) {
    // Said again, the same would be read aloud again.
    if (this.part("wrong").textContent !== sentence) this.part("wrong").textContent = sentence;
    this.part("wrong").hidden = !sentence;
  }

  async send(event) {
    event.preventDefault();
    const [wasNew, isLate] = [!this.note, this.isByItself];
    try {
      const answer = await postForm(this.form);
      if (!answer) return;
      typedStore.forget(KEPT_AS);
      this.close();
      this.onSaved(answer.note ?? {}, { wasNew, isLate, said: answer.is_repeated ? answer.sentence : "" });
    } catch (refusal) {
      if (refusal.isLost) return this.gotLost();
      this.wrong(refusal.message);
      if (refusal.now?.seen) this.showBoth(refusal.now);
    }
  }

  /** It may have arrived or not: kept with its press, it is the same press whenever it is sent again. */
  gotLost() {
    this.isUnsent = this.isUncertain = true;
    this.keepTyped();
    const entry = typedStore.read(KEPT_AS);
    this.wrong(entry ? LOST : LOST_UNKEPT);
    if (entry) typedStore.keep(KEPT_AS, { ...entry, place: { ...entry.place, press: pressOf(this.form) } });
    this.nLost += 1;
    window.clearTimeout(this.again);
    this.again = window.setTimeout(() => this.sendAgain(), Math.min(AGAIN_MS * 2 ** (this.nLost - 1), LONGEST_MS));
  }

  /** Send what did not get through, if nobody wrote on in it. */
  sendAgain() {
    if (!this.isOpen || !this.isUnsent) return;
    this.isByItself = true;
    this.form.requestSubmit();
    this.isByItself = false;
  }

  /** Put away unsent; one press brings what was typed back. */
  leave() {
    const typed = NoteForm.typedBefore([this.picture], this.note ? [this.note] : []);
    const { isUncertain } = this;
    typedStore.forget(KEPT_AS);
    this.close();
    this.onLeft(typed && (() => this.bringBack(typed)), { isUncertain });
  }

  close() {
    this.isUnsent = this.isUncertain = false;
    this.nLost = 0;
    this.wrong("");
    this.form.hidden = true;
    this.note = null;
    this.form.elements.words.value = "";
    this.pickCause(null);
  }
}

const isBoxed = (region) => region.kind === "box";
