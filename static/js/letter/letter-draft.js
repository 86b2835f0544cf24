/* The letter being written keeps its place while it is worked on.
 *
 *   <form data-by-fetch data-in-place>…  is posted from where one is; the page that comes back replaces [data-letter-draft].
 *   <textarea data-keep-as-left>         is kept as soon as it is left with other words in it, and before the page is left.
 *
 *   <details data-fold id="…">           stays as it was left; a way to something inside it opens it.
 *
 * Without this file every form posts and the page loads again at the same spread.
 */
import { signedOut } from "../posting.js";
import { backLine, beforeLeaving, bringBack, keepTyped, sending, toldIn } from "../typed/typed-words.js";

/* A refusal comes back on this very page: both texts are shown here, and no page of their own is wanted. */
const IN_PLACE = { "X-In-Place": "yes" };
const REGION = "[data-letter-draft]";
const LOST = "This was not kept: the answer did not arrive. Check the connection and press once more; your words are still here.";
const STAY = " To leave the page all the same, press the link once more.";
const LEAVE_MS = 6000;
const MOST_KEEPALIVE = 60_000; // browsers carry 64 KiB beyond the end of a page

document.addEventListener("submit", (event) => {
  const form = /** @type {HTMLFormElement | null} */ (
    /** @type {HTMLElement} */ (event.target).closest("form[data-in-place]"));
  if (!form || event.defaultPrevented) return;
  event.preventDefault();
  const data = new FormData(form);
  const pressed = /** @type {HTMLButtonElement | null} */ (event.submitter);
  if (pressed?.name) data.append(pressed.name, pressed.value);
  keep(form, data);
});

/* Another option chosen after approving changes what is stored, as a press on the same answer would. */
document.addEventListener("change", (event) => {
  const choice = /** @type {HTMLInputElement} */ (event.target);
  if (!choice.matches("input[name=picture][form]")) return;
  const pressed = choice.form?.querySelector("button[aria-pressed=true]:is([value=approve], [value=approve_small])");
  if (pressed) choice.form.requestSubmit(/** @type {HTMLButtonElement} */ (pressed));
});

const timers = new Map();
document.addEventListener("change", (event) => {
  const field = /** @type {HTMLTextAreaElement | null} */ (
    /** @type {HTMLElement} */ (event.target).closest("textarea[data-keep-as-left]"));
  if (!field || field.value === field.defaultValue) return;
  const form = field.form;
  const data = new FormData(form);
  // A press on a button of the same form leaves the field first: the button's own post carries the words. A form that
  // another one's answer has replaced meanwhile has not been posted, and its words are kept all the same.
  const timer = setTimeout(() => {
    timers.delete(form);
    keep(form, data);
  }, 150);
  timers.set(form, { timer, data });
});

/* One post after the other: the page that comes back last must be the one that knows of all of them. */
let line = Promise.resolve();
let isLost = false;
function keep(form, data) {
  if (form.matches("[aria-busy]")) return;
  form.setAttribute("aria-busy", "true");
  line = line.then(() => post(form, asItStands(form, data)));
}

/* The forms with words that the server has not been given, and those words. */
function unkept() {
  const found = new Map([...timers].map(([form, { data }]) => [form, data]));
  for (const field of /** @type {NodeListOf<HTMLTextAreaElement>} */ (document.querySelectorAll("textarea[data-keep-as-left]"))) {
    if (field.value !== field.defaultValue) found.set(field.form, new FormData(field.form));
  }
  return found;
}

/* Keep everything that is typed, and wait until it is: resolves to whether the page may be left. */
async function keepAll() {
  isLost = false;
  for (const [form, data] of unkept()) {
    clearTimeout(timers.get(form)?.timer);
    timers.delete(form);
    keep(form, data);
  }
  await Promise.race([line, new Promise((resolve) => { setTimeout(resolve, LEAVE_MS); })]);
  return !isLost && !unkept().size;
}
beforeLeaving.add(keepAll);

/* A link is followed once the words are kept: the page it leads to, the one before sending above all, must have them. */
let insisted = "";
document.addEventListener("click", async (event) => {
  const way = /** @type {HTMLAnchorElement | null} */ (/** @type {HTMLElement} */ (event.target).closest?.("a[href]"));
  const isPlain = event.button === 0 && !(event.ctrlKey || event.metaKey || event.shiftKey || event.altKey);
  if (!way || !isPlain || event.defaultPrevented || way.target || way.hasAttribute("download") || way.getAttribute("href").startsWith("#")) return;
  if (!document.querySelector("form[data-in-place][aria-busy]") && !unkept().size) return;
  if (insisted === way.href) return;
  event.preventDefault();
  if (await keepAll()) window.location.assign(way.href);
  else {
    insisted = way.href;
    document.querySelector("[data-status] .strip")?.append(STAY);
  }
});

/* Left in another way (Back, a closed tab, a telephone that rings): what is typed goes along, whatever becomes of the page. */
window.addEventListener("pagehide", () => {
  for (const [form, data] of unkept()) {
    fetch(form.action, { method: "POST", body: asItStands(form, data), credentials: "same-origin", keepalive: true }).catch(() => null);
  }
});

/* Words alone leave their note weighed as it is by then: a decision pressed on the way is not undone by them. */
function asItStands(form, data) {
  const id = form.querySelector("[data-keep-as-left]")?.id;
  const field = /** @type {HTMLTextAreaElement | null} */ (document.getElementById(id));
  const { weighing } = (field?.form ?? form).dataset;
  if (weighing && !data.has("weighing") && !data.has("others")) data.append("weighing", weighing);
  const seen = (field?.form ?? form).elements.seen?.value;
  if (seen) data.set("seen", seen); // what the last answer brought, if it was this form's own
  return data;
}

async function post(form, data) {
  let page;
  const arrived = sending(form);
  try {
    const isShort = [...data.values()].join("").length * 3 < MOST_KEEPALIVE;
    const answer = await fetch(form.action, { method: "POST", body: data, headers: IN_PLACE, credentials: "same-origin", keepalive: isShort });
    page = new DOMParser().parseFromString(await answer.text(), "text/html");
  } catch {
    isLost = true;
    say(LOST);
    form.removeAttribute("aria-busy");
    return;
  }
  const fresh = page.querySelector(REGION);
  if (!fresh) {
    isLost = true;
    form.removeAttribute("aria-busy");
    if (page.querySelector("[data-person]")) say(page.querySelector("main p")?.textContent?.trim() || LOST);
    else signedOut();
    return;
  }
  const isRefused = Boolean(page.querySelector("[data-status] .strip.error"));
  if (isRefused) isLost = true;
  else arrived();
  replace(fresh, form, data, isRefused);
  const status = page.querySelector("[data-status]");
  if (status?.children.length) document.querySelector("[data-status]").replaceChildren(...status.childNodes);
}

/* Put the fresh page in place: unsaved words in other fields, the focus, and the line one looks at all stay. */
function replace(fresh, form, data, isRefused) {
  const stale = document.querySelector(REGION);
  // A post that waited in line may come from a form that was replaced meanwhile; its namesake stands for it.
  const at = document.getElementById(form.closest("[id]")?.id);
  const top = at?.getBoundingClientRect().top;
  const focus = place(document.activeElement);
  const moved = [];
  for (const field of /** @type {NodeListOf<HTMLTextAreaElement>} */ (stale.querySelectorAll("textarea[id]"))) {
    const next = fresh.querySelector(`#${field.id}`);
    const isOwn = field.form.action === form.action;
    const asPosted = isOwn && !isRefused ? data.get(field.name) : field.defaultValue;
    if (!next || field.value === asPosted) continue;
    next.value = field.value;
    if (isOwn ? !isRefused : next.defaultValue === field.defaultValue) continue;
    // Somebody else wrote here meanwhile: both are shown, and what is typed is kept only once it is meant to stand instead.
    if (next.defaultValue !== field.defaultValue) moved.push(next);
  }
  const pressed = form.closest(".waiting")?.id;
  for (const fold of /** @type {NodeListOf<HTMLDetailsElement>} */ (stale.querySelectorAll("[data-fold]"))) {
    const next = fresh.querySelector(`#${fold.id}`);
    // The spread that was just answered opens where its answer wants that; the others stay as they were left.
    if (next && !(next.open && fold.closest(".waiting")?.id === pressed)) next.open = fold.open;
  }
  const told = toldIn(stale);
  stale.replaceWith(fresh);
  bringBack(fresh, told);
  for (const field of moved) showBoth(field);
  const now = at && document.getElementById(at.id);
  if (now) window.scrollBy({ top: now.getBoundingClientRect().top - top, behavior: "instant" });
  restore(focus);
}

function showBoth(field) {
  field.form.querySelector(":scope > .typed-back")?.remove();
  field.form.prepend(backLine(Date.now(), [field.defaultValue || "nothing"], {
    onDrop() {
      field.value = field.defaultValue;
      keepTyped(field.form);
      field.focus();
    },
  }));
}

function place(element) {
  const holder = element?.closest?.("[id]");
  return { id: element?.id, holder: holder?.id, name: element?.name, value: element?.value,
    start: element?.selectionStart, end: element?.selectionEnd };
}

function restore({ id, holder, name, value, start, end }) {
  const by = id ? document.getElementById(id) : holder && buttonIn(document.getElementById(holder), name, value);
  if (!by) return;
  by.focus({ preventScroll: true });
  if (by.matches("textarea") && start !== null) by.setSelectionRange(start, end);
}

function buttonIn(holder, name, value) {
  const buttons = [...(holder?.querySelectorAll("button") || [])];
  return buttons.find((button) => button.name === name && button.value === value) || buttons[0];
}

/* An address within the page leads to a spread or to a note in it: neither may be folded away. */
function unfold(hash) {
  const target = document.getElementById(hash.slice(1));
  const fold = /** @type {HTMLDetailsElement | null} */ (
    target?.closest("[data-fold]") ?? target?.querySelector(":scope > [data-fold]"));
  if (fold) fold.open = true;
}

window.addEventListener("hashchange", () => unfold(window.location.hash));
document.addEventListener("click", (event) => {
  const way = /** @type {HTMLAnchorElement | null} */ (/** @type {HTMLElement} */ (event.target).closest?.('a[href^="#"]'));
  if (way) unfold(way.hash);
});
unfold(window.location.hash);

function say(words) {
  const status = document.querySelector("[data-status]");
  const strip = document.createElement("p");
  strip.className = "strip error";
  strip.textContent = words;
  status.replaceChildren(strip);
}
