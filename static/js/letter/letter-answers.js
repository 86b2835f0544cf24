/* Each note of a letter is answered by one tap, and saved as it is tapped.
 *
 *   <form data-by-fetch data-answer-note="3"> … radios named response, a textarea named words … </form>
 *
 * "Done" is saved at once; what needs words is saved once they are there and the field is left. Without this file the form's
 * own button does it. What is shown afterwards is the server's own page.
 */
import { postForm } from "../posting.js";
import { bringBack, toldIn } from "../typed/typed-words.js";

const FRESH = [".working-down", ".as-sent"];
const NEEDS_WORDS = new Set(["not_done", "question"]);
let line = Promise.resolve();

document.addEventListener("change", (event) => {
  const form = /** @type {HTMLFormElement | null} */ (/** @type {HTMLElement} */ (event.target).closest("form[data-answer-note]"));
  if (form) save(form);
});

document.addEventListener("submit", (event) => {
  const form = /** @type {HTMLFormElement | null} */ (/** @type {HTMLElement} */ (event.target).closest("form[data-answer-note]"));
  if (!form || event.defaultPrevented) return;
  event.preventDefault();
  save(form);
});

function save(form) {
  const { response, words } = form.elements;
  if (!response.value) return;
  if (NEEDS_WORDS.has(response.value) && !words.value.trim()) {
    say("Say why, or what you ask: it is saved as you leave the field.");
    words.focus();
    return;
  }
  // One after the other: whoever goes down a letter by thumb is faster than the answers.
  line = line.then(() => send(form));
}

async function send(form) {
  try {
    const answer = await postForm(form);
    if (!answer) return;
    await readAgain();
    say(answer.sentence ?? "Your answer is saved.");
  } catch (refusal) {
    say(refusal.message, { wrong: true });
  }
}

async function readAgain() {
  const answer = await fetch(window.location.pathname, { credentials: "same-origin", headers: { Accept: "text/html" } });
  if (!answer.ok) return;
  const page = new DOMParser().parseFromString(await answer.text(), "text/html");
  const focus = /** @type {HTMLElement | null} */ (document.activeElement)?.closest("[id^=note-]")?.id;
  for (const selector of FRESH) {
    const [stale, fresh] = [document, page].map((one) => one.querySelector(selector));
    if (!stale || !fresh) continue;
    const told = toldIn(stale);
    const open = [...stale.querySelectorAll("details[open]")].map((fold) => fold.closest("[id^=note-]")?.id);
    stale.replaceWith(document.adoptNode(fresh));
    for (const id of open) {
      const fold = /** @type {HTMLDetailsElement | null} */ (document.getElementById(id)?.querySelector("details.respond"));
      if (fold && !document.getElementById(id).hasAttribute("data-answered")) fold.open = true;
    }
    bringBack(fresh, told);
  }
  const next = focus && document.getElementById(focus)?.querySelector("summary, input");
  if (next && document.activeElement === document.body) /** @type {HTMLElement} */ (next).focus({ preventScroll: true });
}

function say(words, { wrong = false } = {}) {
  const strip = document.createElement("p");
  strip.className = `strip${wrong ? " error" : ""}`;
  strip.textContent = words;
  document.querySelector("[data-status]")?.replaceChildren(strip);
}
