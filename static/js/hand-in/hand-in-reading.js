/* While the portal reads new pictures, ask how far each has come, and let the hand-in be sent once all are read.
 * Works beside hand-in-upload.js: rows carry data-picture, data-state and (from the server) data-state-url. */
const PAUSE_MS = 1200;
const section = /** @type {HTMLElement | null} */ (document.querySelector("[data-hand-in-upload]"));
const form = /** @type {HTMLFormElement | null} */ (document.querySelector("[data-hand-over]"));

const rows = () => [.../** @type {NodeListOf<HTMLElement>} */ (section?.querySelectorAll("[data-pictures] > li") ?? [])];
const waiting = () => rows().filter((row) => row.dataset.picture && row.dataset.state === "received");

function addressOf(row) {
  return row.dataset.stateUrl || `/pictures/${row.dataset.picture}/state/`;
}

async function ask(row) {
  const answer = await fetch(addressOf(row), { credentials: "same-origin", headers: { Accept: "application/json" } });
  if (!answer.ok) return;
  const said = await answer.json();
  const isRead = row.dataset.state !== said.state;
  row.dataset.state = said.state;
  if (isRead) document.dispatchEvent(new CustomEvent("picture-read", { detail: said }));
  if (said.thumb_url) row.querySelector("[data-thumb]").src = said.thumb_url;
  const standing = row.querySelector("[data-standing]");
  if (said.state === "ready") standing.textContent = `Ready to hand in, ${said.width_px} × ${said.height_px} pixels`;
  else if (said.state === "refused") standing.textContent = said.reason;
  else standing.textContent = said.is_given_up ? "Could not be read yet" : said.trouble ? "Waiting to be processed" : "Processing";
  tellTrouble(row, said);
  tellCautions(row, said.cautions);
}

/** Say under a picture what speaks against it in print, as the page does that comes whole. */
function tellCautions(row, cautions) {
  row.querySelectorAll(".print-caution").forEach((old) => old.remove());
  const lines = cautions.map((words) => {
    const line = document.createElement("span");
    line.className = "small print-caution";
    line.textContent = words;
    return line;
  });
  row.querySelector("[data-standing]").after(...lines);
}

/** Say under a picture what hinders its reading; the button that tries again comes with the page itself. */
function tellTrouble(row, said) {
  const told = row.querySelector("[data-trouble]");
  const words = said.state === "received" ? said.trouble : "";
  if (told && !words) told.remove();
  else if (told) told.querySelector(".trouble").textContent = words;
  else if (words && row.dataset.toldTrouble !== words) {
    row.dataset.toldTrouble = words;
    const line = document.createElement("span");
    line.className = "small trouble";
    line.textContent = said.is_given_up ? `${words} Load the page again to try once more.` : words;
    row.querySelector("[data-standing]").after(line);
    row.querySelectorAll(".trouble").forEach((old) => old !== line && old.remove());
  }
}

/** Say what still stands in the way, and hold the button until nothing does. */
function settle() {
  const all = rows();
  const refused = all.filter((row) => row.dataset.state === "refused").length;
  const unread = all.filter((row) => row.dataset.state !== "refused" && row.dataset.state !== "ready").length;
  form.hidden = all.length === 0;
  /** @type {HTMLButtonElement} */ (form.querySelector(".main")).disabled = Boolean(refused || unread || !all.length);
  form.querySelector("[data-hand-over-said]").textContent = refused
    ? `${refused} could not be read: take ${refused > 1 ? "them" : "it"} out, or choose another copy.`
    : unread ? `${unread} still to be sent and processed.` : "";
}

async function watch() {
  await Promise.all(waiting().map((row) => ask(row).catch(() => {})));
  settle();
  setTimeout(watch, PAUSE_MS);
}

/** The draft comes into being with its first picture: learn its addresses then. */
section?.addEventListener("picture-kept", (/** @type {CustomEvent} */ event) => {
  const { order_url: order, hand_in_url: handIn } = event.detail;
  section.dataset.orderUrl ||= order;
  if (!form.getAttribute("action")) {
    form.setAttribute("action", handIn);
    form.querySelector("[data-keep-words]").setAttribute("formaction", handIn.replace("hand-in/", "words/"));
  }
  settle();
});

if (section && form) watch();
