/* Each note of a letter is answered by one press, and saved as it is pressed.
 *
 *   <form data-by-fetch data-answer-note="3"> … a textarea named words … buttons named response … </form>
 *
 * What needs words and has none is chosen by the press, and saved once words are there and the field is left. Without this
 * file, and before it has come, a press sends the form. What is shown afterwards is the server's own page.
 */
import { postForm } from "../posting.js";
import { readPage } from "../read-page.js";
import { bringBack, toldIn } from "../typed/typed-words.js";

const FRESH = [".working-down", ".as-sent"];
const NEEDS_WORDS = new Set(["not_done", "question"]);
let line = Promise.resolve();

const answerForm = (event) => /** @type {HTMLFormElement | null} */ (/** @type {HTMLElement} */ (event.target).closest("form[data-answer-note]"));

document.addEventListener("change", (event) => {
  const form = answerForm(event);
  const chosen = form?.querySelector("button[name=response][aria-pressed=true]");
  if (chosen) save(form, chosen);
});

document.addEventListener("submit", (event) => {
  const form = answerForm(event);
  if (!form || event.defaultPrevented) return;
  event.preventDefault();
  save(form, event.submitter);
});

function save(form, chosen) {
  if (!chosen) return;
  for (const button of form.querySelectorAll("button[name=response]")) button.setAttribute("aria-pressed", String(button === chosen));
  const { words } = form.elements;
  if (NEEDS_WORDS.has(chosen.value) && !words.value.trim()) {
    say("Say why, or what you ask: it is saved as you leave the field.");
    words.focus();
    return;
  }
  // One after the other: whoever goes down a letter by thumb is faster than the answers.
  line = line.then(() => send(form, chosen));
}

async function send(form, chosen) {
  try {
    const answer = await postForm(form, chosen);
    if (!answer) return;
    await readAgain();
    say(answer.sentence ?? "Your answer is saved.");
  } catch (refusal) {
    say(refusal.message, { wrong: true });
  }
}

async function readAgain() {
  const page = await readPage(window.location.pathname);
  if (!page) return;
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
  const next = focus && document.getElementById(focus)?.querySelector("summary, button");
  if (next && document.activeElement === document.body) /** @type {HTMLElement} */ (next).focus({ preventScroll: true });
}

function say(words, { wrong = false } = {}) {
  const strip = document.createElement("p");
  strip.className = `strip${wrong ? " error" : ""}`;
  strip.textContent = words;
  document.querySelector("[data-status]")?.replaceChildren(strip);
}
