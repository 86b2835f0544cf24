/* What changed since earlier versions, put on the table once it is known. The table never waits for it: it is asked for after
 * the art stands, and asked again quietly while the pictures are still being compared. */
import { CarriedNotes } from "./carried-notes.js";
import { ChangedPlaces } from "./changed-places.js";
import { foldedKeys } from "./compare-keys.js";
import { layingBeside } from "./compare-laying.js";
import { TracingSheet } from "./compare-tracing.js";
import { UnsharedPart } from "./unshared-part.js";
import { post, tokenOf } from "../posting.js";
import { readPage } from "../read-page.js";
import { capital } from "../words.js";

const ASK_AGAIN_MS = 2000;
const ASK_TIMES = 30;
const COUNTED = "n-places"; // the rail counts the places itself, for the reading that is chosen
const BESIDE = window.matchMedia("(min-width: 62rem)");
export class WhatChanged {
  constructor(table) {
    this.table = table;
    this.viewer = table.viewer;
    this.url = table.data.urls.changes;
    this.pairs = [];
    this.carried = [];
    this.trouble = null;
    this.pair = null;
    this.asked = table.address.parts;
    this.say = table.say;
    this.sheets = table.one("changes");
    this.rail = table.one("tracing");
    this.part = (name) => this.rail.querySelector(`[data-${name}]`);
    this.tracing = new TracingSheet(this.viewer, { onPull: (pull) => { this.part("pull").value = String(Math.round(pull * 100)); } });
    this.unshared = new UnsharedPart(this.viewer);
    this.places = new ChangedPlaces(this.viewer, { onChoose: (position) => this.choosePlace(position) });
    this.notes = new CarriedNotes(this.viewer, {
      onChoose: (id) => this.chooseNote(id), onPlaced: (note, region) => this.place(note, region), onPutDown: () => this.notes.drawDraft(null), say: this.say,
    });
    this.bind();
    this.ask();
  }

  bind() {
    this.part("earlier").addEventListener("change", (event) => this.take(this.pairs[event.target.selectedIndex]));
    this.part("lay").addEventListener("click", () => this.layOrLift());
    this.part("beside").addEventListener("click", () => this.lay({ isBeside: !this.tracing.isBeside }));
    this.part("strength").addEventListener("input", (event) => this.tracing.set({ strength: event.target.value / 100 }));
    this.part("pull").addEventListener("input", (event) => this.tracing.set({ pull: event.target.value / 100 }));
    for (const button of this.rail.querySelectorAll("[data-reading]")) button.addEventListener("click", () => this.read(Number(button.dataset.reading)));
    for (const button of this.rail.querySelectorAll("[data-place-step]")) button.addEventListener("click", () => this.step(Number(button.dataset.placeStep)));
    this.part("outlines").addEventListener("click", () => this.showOutlines(!this.places.isShown));
    this.viewer.board.addEventListener("keydown", (event) => this.key(event));
    this.sheets.addEventListener("click", (event) => this.press(event));
  }

  /** Ask what is known; while something is still being compared, ask again every two seconds for a minute. */
  async ask(times = 0) {
    const known = await fetch(this.url, { credentials: "same-origin", headers: { Accept: "application/json" } })
      .then((answer) => (answer.ok ? answer.json() : null)).catch(() => null);
    const waits = !known || known.comparisons.some((pair) => !pair.is_compared);
    if (known) this.trouble = known.trouble;
    if (known && (!waits || times === 0)) await this.receive(known);
    if (!waits) return;
    if (this.trouble) this.words(this.wordsOf(this.pair));
    if (times >= ASK_TIMES) return this.words(this.trouble?.sentence ?? "The comparison has not come yet. Load the page again later.");
    await new Promise((resolve) => { window.setTimeout(resolve, ASK_AGAIN_MS); });
    await this.ask(times + 1);
  }

  async receive(known) {
    this.pairs = known.comparisons;
    this.trouble = known.trouble;
    this.carried = known.carried;
    if (!this.pairs.length && !this.carried.length) return;
    await this.fetchSheets();
    this.rail.hidden = false;
    this.fillChoice();
    this.showLooks();
    this.take(this.pairs.find((pair) => pair.id === this.pair?.id) ?? this.pairs[0] ?? null);
    this.goTo(this.asked);
    this.layBesideAtOnce();
  }

  /** What cannot be laid over is laid beside without being asked, unless somebody is at work or looking closely. */
  layBesideAtOnce() {
    const isAtWork = this.table.form?.isOpen || this.table.marking?.kind || this.viewer.zoom !== this.viewer.wholeZoom;
    if (this.pair?.result?.state === "not-aligned" && this.isHere && !isAtWork && !window.location.hash) this.lay({ isBeside: true, quiet: true });
  }

  /** The sheets are the server's own page, so what is read here is what can be read without a script. */
  async fetchSheets() {
    const page = await readPage(this.url).catch(() => null);
    const list = page?.querySelector("[data-changes-list]");
    if (!list) return;
    this.sheets.replaceChildren(document.adoptNode(list));
    list.append(foldedKeys());
  }

  fillChoice() {
    const choice = this.part("earlier");
    choice.replaceChildren(...this.pairs.map((pair) => new Option(pair.is_plate ? capital(pair.name) : `Since ${pair.name}`, String(pair.id))));
    choice.hidden = this.pairs.length < 2;
  }

  /** What was answered "done" while no change was found: one press away from the place. */
  showLooks() {
    const buttons = this.carried.filter((note) => note.asks_for_a_look).map((note) => {
      const button = document.createElement("button");
      button.type = "button";
      button.className = "button little has-a-look";
      button.textContent = `${capital(note.name)}: answered “done”, no change found. Have a look`;
      button.addEventListener("click", () => this.chooseNote(note.id));
      return button;
    });
    this.part("looks").replaceChildren(...buttons);
  }

  get isHere() {
    return this.pair ? this.viewer.picture?.id === this.pair.after : this.carried.some((note) => note.picture === this.viewer.picture?.id);
  }

  /** The table shows another picture, or the same one anew. */
  shown() {
    this.lift();
    if (this.pairs.length) this.table.address.set("place", null, { quiet: true });
    this.take(this.pair);
  }

  take(pair) {
    this.lift();
    this.pair = pair;
    this.reading = 0;
    this.part("earlier").selectedIndex = this.pairs.indexOf(pair);
    const isCompared = Boolean(pair?.is_compared);
    const isLaid = isCompared && pair.result.state !== "not-aligned";
    // While there is nothing to lay, no control for it stands between a narrow screen's top and the art.
    for (const name of ["lay", "laid"]) this.part(name).hidden = !isCompared;
    this.part("lay").textContent = isLaid ? `Overlay ${pair.name}` : `Show ${pair?.name ?? "it"} beside this`;
    this.showLaid();
    if (!this.viewer.picture) return;
    this.notes.draw(this.carried, this.reading);
    this.drawPlaces();
  }

  /** Outline what changed by the reading that is chosen: what moved depends on what is taken for still. */
  drawPlaces() {
    const places = (this.reading ? this.pair?.other_places : this.pair?.places) ?? [];
    this.places.draw(this.isHere ? places : [], this.laying);
    this.unshared.draw(this.isHere ? (this.pair?.unshared ?? []) : [], this.laying);
    const count = this.places.places.length;
    // With two readings the stepper stays, so that the board keeps its height when one reads the other way.
    this.part("places").hidden = !count && !this.isTwofold && !this.isCut;
    this.part("place-words").textContent = count === 1 ? "1 changed place" : count ? `${count} changed places` : "No place marked";
    this.words(this.wordsOf(this.pair));
  }

  wordsOf(pair) {
    if (!pair) return "";
    if (!pair.is_compared && this.trouble) return this.trouble.sentence;
    if (!pair.is_compared) return "The pictures are being compared; look and mark meanwhile.";
    const isCounted = this.places.places.length > 0 || this.reading > 0;
    const shown = pair.result.remarks.filter((remark) => !isCounted || remark.code !== COUNTED);
    return shown.map((remark) => remark.words).join(" ");
  }

  /** Whether one version shows what the other does not: that is drawn as the places are, and put out of sight with them. */
  get isCut() {
    return this.isHere && Boolean(this.laying) && (this.pair?.unshared?.length ?? 0) > 0;
  }

  words(words) {
    this.part("tracing-words").textContent = words;
  }

  get laying() {
    return this.pair?.result?.maps?.[this.reading] ?? null;
  }

  get isTwofold() {
    return this.isHere && (this.pair?.result?.maps?.length ?? 0) > 1;
  }

  // The earlier version as a sheet of tracing paper.

  layOrLift() {
    if (this.tracing.isLaid) this.lift({ quiet: false });
    else if (this.pair?.is_compared) this.lay({ isBeside: !this.laying });
  }

  lay({ isBeside, quiet = false }) {
    if (!this.isHere) return;
    const { before } = this.pair;
    const besides = !this.laying || isBeside;
    const laying = besides ? layingBeside(before, this.viewer.picture, this.viewer.map.getSize()) : this.laying;
    this.tracing.lay(before, laying, { isBeside: besides, name: capital(this.pair.name) });
    const isWider = besides || this.isCut;
    if (isWider || this.wasWider) this.refit(besides ? this.tracing.reach : this.unshared.reach);
    this.wasWider = isWider;
    this.table.address.set("laid", `${besides ? "beside" : "over"}-${this.pair.id}`, { quiet });
    this.showLaid();
    this.say(`${capital(this.pair.name)} lies ${besides ? "beside" : "over"} this one.`, { aloudOnly: true });
  }

  lift({ quiet = true } = {}) {
    if (!this.tracing.isLaid) return;
    this.tracing.lift();
    this.table.address.set("laid", null, { quiet });
    if (this.wasWider && this.viewer.picture) this.refit([0, 0, 1, 1]);
    this.wasWider = false;
    this.showLaid();
    this.say("Lifted off.", { aloudOnly: true });
  }

  refit(reach) {
    this.viewer.setReach(reach);
    this.viewer.fit();
    this.viewer.keepInReach();
  }

  showLaid() {
    const { isLaid, isBeside } = this.tracing;
    this.part("lay").setAttribute("aria-pressed", String(isLaid));
    this.part("laid").toggleAttribute("data-off", !isLaid);
    for (const control of this.part("laid").querySelectorAll("input, [data-beside]")) control.disabled = !isLaid;
    this.part("beside").hidden = !this.laying;
    this.part("beside").setAttribute("aria-pressed", String(isLaid && isBeside));
    for (const label of this.rail.querySelectorAll("[data-over]")) label.hidden = !this.laying || (isLaid && isBeside);
    this.part("readings").hidden = !this.isTwofold;
    for (const button of this.rail.querySelectorAll("[data-reading]")) {
      button.setAttribute("aria-pressed", String(Number(button.dataset.reading) === this.reading));
    }
  }

  read(reading) {
    this.reading = reading;
    this.notes.draw(this.carried, reading);
    this.drawPlaces();
    if (this.tracing.isLaid && !this.tracing.isBeside) this.lay({ isBeside: false });
    else this.showLaid();
    this.say(reading ? "The other reading: another part of the picture lies on its old place." : "The first reading.");
  }

  slide(name, step) {
    const slider = this.part(name);
    slider.value = String(Number(slider.value) + step);
    slider.dispatchEvent(new Event("input"));
  }

  key(event) {
    if (event.ctrlKey || event.metaKey || event.altKey || this.rail.hidden || this.notes.marking.kind || this.table.marking?.kind) return;
    const deed = {
      t: () => this.layOrLift(), n: () => this.step(1), p: () => this.step(-1),
      "[": () => this.slide("strength", -10), "]": () => this.slide("strength", 10),
      ",": () => this.slide("pull", 5), ".": () => this.slide("pull", -5),
    }[event.key.toLowerCase()];
    if (!deed) return;
    event.preventDefault();
    deed();
  }

  // The changed places.

  showOutlines(isShown) {
    this.places.show(isShown);
    this.unshared.show(isShown);
    this.part("outlines").setAttribute("aria-pressed", String(isShown));
  }

  step(step) {
    if (this.places.places.length) this.choosePlace(this.places.stepTo(step));
  }

  choosePlace(position) {
    if (!this.places.isShown) this.showOutlines(true);
    this.places.choose(position);
    const place = this.places.places[position];
    this.part("place-words").textContent = `${place.letter}: ${place.words}`;
    this.say(`Place ${position + 1} of ${this.places.places.length}, ${place.letter}: ${place.words}, ${place.where}`, { aloudOnly: true });
    this.table.address.set("place", `${this.pair.id}-${place.letter}`);
    this.markCard("place", `${this.pair.id}-${place.letter}`);
  }

  showPlace(name) {
    const [id, letter] = name.split("-");
    const pair = this.pairs.find((one) => one.id === Number(id));
    if (!pair) return;
    if (pair !== this.pair) this.take(pair);
    const reading = letter === letter.toLowerCase() ? 1 : 0; // the second reading's places carry small letters
    if (reading !== this.reading) this.read(reading);
    const position = this.places.places.findIndex((place) => place.letter === letter);
    if (position >= 0) this.choosePlace(position);
  }

  // The letter's notes on this version.

  chooseNote(id) {
    const note = this.notes.drawn.get(id)?.note ?? this.carried.find((one) => one.id === id);
    if (!note) return;
    this.table.choose(null);
    this.notes.mark(id);
    this.notes.bringIntoView(id);
    this.markCard("carried", String(id));
    const page = note.state === "followed" && !note.is_by_hand ? " The dashed mark is where the page alone would put it." : "";
    this.say(`${capital(note.name)}: ${note.evidence}${page}`);
  }

  correct(id, { withBox }) {
    const note = this.carried.find((one) => one.id === id);
    if (!note) return;
    this.chooseNote(id);
    this.table.marking?.putDown({ quietly: true });
    this.viewer.board.scrollIntoView({ block: "nearest" });
    this.notes.correct(note, { withBox });
  }

  putDown() {
    this.notes.marking.putDown({ quietly: true });
  }

  place(note, region) {
    return this.keepPlace(note, { region: JSON.stringify(region) });
  }

  putBack(id) {
    const note = this.carried.find((one) => one.id === id);
    return note && this.keepPlace(note, { put_back: "1" });
  }

  async keepPlace(note, given) {
    const data = new FormData();
    data.set("picture", String(note.picture));
    for (const [name, value] of Object.entries(given)) data.set(name, value);
    try {
      const answer = await post(note.place_url, data, tokenOf(this.sheets.querySelector("[data-carry-form]")));
      await this.readAgain(note.id);
      this.say(answer.sentence);
      this.notes.bringIntoView(note.id);
    } catch (refusal) {
      this.say(refusal.message, { wrong: true });
    }
  }

  async readAgain(id) {
    const known = await fetch(this.url, { credentials: "same-origin", headers: { Accept: "application/json" } }).then((answer) => answer.json());
    this.carried = known.carried;
    this.notes.draw(this.carried, this.reading);
    this.showLooks();
    await this.fetchSheets();
    this.notes.mark(id);
    this.markCard("carried", String(id));
  }

  // The sheets beside the art.

  press(event) {
    const to = (name) => event.target.closest(`[data-${name}]`);
    const deeds = /** @type {[string, (from: HTMLElement) => void][]} */ ([
      ["show-place", (place) => this.showPlace(place.dataset.showPlace)],
      ["show-carried", (card) => this.chooseNote(Number(card.dataset.showCarried))],
      ["carry", (button) => this.correct(Number(button.dataset.carry), { withBox: false })],
      ["carry-box", (button) => this.correct(Number(button.dataset.carryBox), { withBox: true })],
      ["carry-back", (button) => this.putBack(Number(button.dataset.carryBack))],
    ]);
    const deed = deeds.find(([name]) => to(name));
    if (!deed) return;
    event.preventDefault();
    if (!BESIDE.matches) this.viewer.board.scrollIntoView({ block: "nearest" });
    deed[1](to(deed[0]));
  }

  markCard(kind, name) {
    for (const card of this.sheets.querySelectorAll("[data-place].chosen, [data-carried].chosen")) card.classList.remove("chosen");
    const card = this.sheets.querySelector(`[data-${kind}="${CSS.escape(name)}"]`);
    card?.classList.add("chosen");
    // On a narrow screen the sheets lie under the board: scrolling to them would take the art away.
    if (BESIDE.matches) card?.scrollIntoView({ block: "nearest" });
  }

  /** Open what an address names, once it is there, and close what it does not. */
  goTo(parts) {
    this.asked = parts;
    if (!this.pairs.length && !this.carried.length) return;
    const [way, id] = parts.laid?.split("-") ?? [];
    const pair = this.pairs.find((one) => one.id === Number(id) && one.is_compared);
    if (pair && pair !== this.pair) this.take(pair);
    if (pair) this.lay({ isBeside: way === "beside" });
    else this.lift({ quiet: true });
    const note = Number(this.table.address.parts.note);
    if (parts.place) this.showPlace(parts.place);
    else if (this.carried.some((one) => one.id === note)) this.chooseNote(note);
    else this.closePlace();
  }

  closePlace() {
    if (this.places.at < 0) return;
    this.drawPlaces();
    this.markCard("place", "");
  }
}
