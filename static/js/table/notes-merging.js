/* The notes in the letter as the server tells them now, taken in card by card: what did not change is not touched, and a card
 * in which somebody writes stays as it is but for its words and number. */
const stale = new WeakSet();

const cardsOf = (list) => new Map([...list.querySelectorAll(":scope [data-note]")].map((card) => [Number(card.dataset.note), card]));

const isBusy = (card) =>
  card.contains(document.activeElement) || Boolean(card.querySelector("details[open], form[aria-busy=true]"));

/** The notes of which something is told otherwise than before, by id; what is new is not among them. */
export function changedNotes(before, after) {
  const told = new Map(before.map((note) => [note.id, JSON.stringify(note)]));
  return new Set(after.filter((note) => told.has(note.id) && told.get(note.id) !== JSON.stringify(note)).map((note) => note.id));
}

/** Take into `mine` what `theirs`, the same part of a page just read, tells.
 * @param {HTMLElement} mine @param {HTMLElement} theirs */
export function mergeNotes(mine, theirs, before, after) {
  const list = mine.querySelector("ol.notes");
  const fresh = theirs.querySelector("ol.notes");
  if (!list || !fresh) {
    if (list && !fresh) for (const card of cardsOf(list).values()) leave(card);
    else if (!mine.contains(document.activeElement)) mine.replaceChildren(...theirs.childNodes);
    return;
  }
  const changed = changedNotes(before, after);
  const cards = cardsOf(list);
  let last = null;
  for (const [id, theirCard] of cardsOf(fresh)) {
    const card = cards.get(id);
    const stands = card ? keep(card, theirCard, changed.has(id)) : document.adoptNode(theirCard);
    if (!card) last ? last.after(stands) : list.prepend(stands);
    last = stands;
    cards.delete(id);
  }
  for (const card of cards.values()) leave(card);
}

function keep(card, theirs, isChanged) {
  if (!isChanged && !stale.has(card)) return card;
  if (isBusy(card)) {
    for (const part of [".words", ".flag [aria-hidden]"]) {
      const [mine, now] = [card.querySelector(part), theirs.querySelector(part)];
      if (mine && now) mine.textContent = now.textContent;
    }
    stale.add(card);
    return card;
  }
  const fresh = document.adoptNode(theirs);
  fresh.classList.toggle("chosen", card.classList.contains("chosen"));
  card.replaceWith(fresh);
  return fresh;
}

/** A note that is gone keeps its room until the page is read anew, so that nothing moves up under a hand. */
function leave(card) {
  if (isBusy(card) || card.classList.contains("gone")) return;
  const room = document.createElement("li");
  room.className = "note gone";
  room.dataset.gone = card.dataset.note;
  room.style.minHeight = `${card.offsetHeight}px`;
  room.textContent = "This note is no longer here."; // withdrawn, or its letter was taken back
  card.replaceWith(room);
}
