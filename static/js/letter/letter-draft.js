/* The letter being written keeps its place while it is worked on.
 *
 *   <form data-by-fetch data-in-place>…  is posted from where one is; the page that comes back replaces [data-letter-draft].
 *   <textarea data-keep-as-left>         is kept as soon as it is left with other words in it.
 *
 *   <details data-fold id="…">           stays as it was left; a way to something inside it opens it.
 *
 * Without this file every form posts and the page loads again at the same spread.
 */
const REGION = "[data-letter-draft]";
const LOST = "This was not kept: the answer did not arrive. Check the connection and press once more; your words are still here.";

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

document.addEventListener("change", (event) => {
  const field = /** @type {HTMLTextAreaElement | null} */ (
    /** @type {HTMLElement} */ (event.target).closest("textarea[data-keep-as-left]"));
  if (!field || field.value === field.defaultValue) return;
  const form = field.form;
  const data = new FormData(form);
  // A press on a button of the same form leaves the field first: the button's own post carries the words. A form that
  // another one's answer has replaced meanwhile has not been posted, and its words are kept all the same.
  setTimeout(() => keep(form, data), 150);
});

/* One post after the other: the page that comes back last must be the one that knows of all of them. */
let line = Promise.resolve();
function keep(form, data) {
  if (form.matches("[aria-busy]")) return;
  form.setAttribute("aria-busy", "true");
  line = line.then(() => post(form, asItStands(form, data)));
}

/* Words alone leave their note weighed as it is by then: a decision pressed on the way is not undone by them. */
function asItStands(form, data) {
  const id = form.querySelector("[data-keep-as-left]")?.id;
  const field = /** @type {HTMLTextAreaElement | null} */ (document.getElementById(id));
  const { weighing } = (field?.form ?? form).dataset;
  if (weighing && !data.has("weighing") && !data.has("others")) data.append("weighing", weighing);
  return data;
}

async function post(form, data) {
  let page;
  try {
    const answer = await fetch(form.action, { method: "POST", body: data, credentials: "same-origin" });
    page = new DOMParser().parseFromString(await answer.text(), "text/html");
  } catch {
    say(LOST);
    form.removeAttribute("aria-busy");
    return;
  }
  const fresh = page.querySelector(REGION);
  if (!fresh) {
    window.location.reload();
    return;
  }
  replace(fresh, form);
  const status = page.querySelector("[data-status]");
  if (status?.children.length) document.querySelector("[data-status]").replaceChildren(...status.childNodes);
}

/* Put the fresh page in place: unsaved words in other fields, the focus, and the line one looks at all stay. */
function replace(fresh, form) {
  const stale = document.querySelector(REGION);
  // A post that waited in line may come from a form that was replaced meanwhile; its namesake stands for it.
  const at = document.getElementById(form.closest("[id]")?.id);
  const top = at?.getBoundingClientRect().top;
  const focus = place(document.activeElement);
  const fields = /** @type {NodeListOf<HTMLTextAreaElement>} */ (stale.querySelectorAll("textarea[id]"));
  for (const field of fields) {
    const next = fresh.querySelector(`#${field.id}`);
    if (next && field.form.action !== form.action && field.value !== field.defaultValue) next.value = field.value;
  }
  const pressed = form.closest(".waiting")?.id;
  for (const fold of /** @type {NodeListOf<HTMLDetailsElement>} */ (stale.querySelectorAll("[data-fold]"))) {
    const next = fresh.querySelector(`#${fold.id}`);
    // The spread that was just answered opens where its answer wants that; the others stay as they were left.
    if (next && !(next.open && fold.closest(".waiting")?.id === pressed)) next.open = fold.open;
  }
  stale.replaceWith(fresh);
  const now = at && document.getElementById(at.id);
  if (now) window.scrollBy({ top: now.getBoundingClientRect().top - top, behavior: "instant" });
  restore(focus);
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
