/* Nothing typed is lost. As it is typed, every posting form's words are kept on this device; they go once the server says that
 * it has them, and come back with a line that says so if the page was left in any way before.
 *
 *   <html data-person="7">          whose words these are: nobody else's come back, and signing out asks first.
 *   <form method="post">            is kept by its address and first field; data-typed="…" names it where that is not enough.
 *   <div hidden data-typed-before="…"> is shown where words of that name are kept: another way into the same form has them.
 *   <form … data-typed-off>         is not: a script keeps it by itself (typedStore), or nobody misses it.
 *
 * A form sent by its own submit carries kept_here; the answer then names its press in a cookie (views/pressed.py). A script
 * that posts a form says so by `sending(form)` and, when the server has it, calls what that returned.
 */
import { ask } from "../ask-before.js";
import { dropTyped, isKept, isSentBack, nameOf, putBack, typedIn } from "./typed-fields.js";
import { TypedStore } from "./typed-store.js";

const ARRIVED = /(?:^|; )kept-([\w-]+)=/g;

function storage() {
  try {
    return window.localStorage;
  } catch {
    return null; // forbidden: the portal works without
  }
}

export const typedStore = new TypedStore(storage(), document.documentElement.dataset.person ?? "", window.location.pathname);

/** What must be sent before the page may be left: functions that promise it. */
export const beforeLeaving = new Set();

export function keepTyped(form) {
  if (!typedStore.works || !isKept(form)) return;
  const name = nameOf(form);
  const old = typedStore.read(name);
  const fields = typedIn(form, old);
  if (fields) typedStore.keep(name, { at: Date.now(), title: document.title.split(" · ")[0], fields });
  else if (old) typedStore.forget(name);
}

/** A script sends this form now; call what is returned once the server has it: newer words stay kept. */
export function sending(form) {
  const name = form.hasAttribute("data-typed-off") ? null : nameOf(form);
  const asSent = name && JSON.stringify(typedStore.read(name)?.fields);
  return () => {
    if (name && JSON.stringify(typedStore.read(name)?.fields) === asSent) typedStore.forget(name);
  };
}

/** The forms that say over them what came back. */
export const toldIn = (root) => new Set([...root.querySelectorAll("form > .typed-back")].map((line) => nameOf(line.parentElement)));

/** Put back what was typed and not sent, in every form below `root`; say so where it was not there, or in `told`. */
export function bringBack(root, told = new Set(), { isFirst = false } = {}) {
  if (!typedStore.works) return;
  for (const form of /** @type {NodeListOf<HTMLFormElement>} */ (root.querySelectorAll("form"))) {
    const entry = isKept(form) && typedStore.read(nameOf(form));
    if (!entry) continue;
    const back = putBack(form, entry);
    if (!back.length) typedStore.forget(nameOf(form));
    else if (!isSentBack(form) && (isFirst || told.has(nameOf(form)) || back.some((one) => one.isNew))) tell(form, entry, back);
  }
}

/** The line over words that came back: since when, what stands instead, and a way to drop them. */
export function backLine(at, moved, { onDrop }) {
  const line = document.createElement("div");
  line.className = "typed-back";
  const words = document.createElement("p");
  const when = new Date(at).toLocaleString("en-GB", { day: "numeric", month: "long", hour: "2-digit", minute: "2-digit" });
  words.textContent = moved.length
    ? `This was changed after you began to type. It says now: “${moved.join("” “")}”. What you typed on ${when} is below.`
    : `What you typed on ${when} is back. It is not sent yet.`;
  const drop = document.createElement("button");
  Object.assign(drop, { type: "button", className: "button little", textContent: moved.length ? "Take what it says now" : "Drop it" });
  drop.addEventListener("click", () => {
    line.remove();
    onDrop();
  });
  line.append(words, drop);
  return line;
}

function tell(form, entry, back) {
  form.querySelector(":scope > .typed-back")?.remove();
  for (let fold = form.closest("details"); fold; fold = fold.parentElement.closest("details")) fold.open = true;
  const moved = back.filter((one) => one.isMoved).map((one) => one.standing || "nothing");
  form.prepend(backLine(entry.at, moved, {
    onDrop() {
      dropTyped(form);
      typedStore.forget(nameOf(form));
      back[0].field.focus();
    },
  }));
}

function forgetArrived() {
  for (const [, press] of document.cookie.matchAll(ARRIVED)) {
    typedStore.arrived(press);
    document.cookie = `kept-${press}=; Max-Age=0; path=/; SameSite=Lax`;
  }
}

/** Sent by its own submit: the next page learns by the press whether the server has it. */
function markSent(form) {
  const entry = isKept(form) && typedStore.read(nameOf(form));
  if (!entry || !form.elements.press) return;
  typedStore.keep(nameOf(form), { ...entry, press: form.elements.press.value });
  if (form.elements.kept_here) return;
  const mark = document.createElement("input");
  Object.assign(mark, { type: "hidden", name: "kept_here", value: "1" });
  form.append(mark);
}

/** Signing out takes this person's words off the device: send what may go, and ask about the rest. */
async function signOut(form) {
  await Promise.allSettled([...beforeLeaving].map((leave) => leave()));
  const places = [...new Set(typedStore.all().map((entry) => entry.title))];
  const question = `Words you typed are not sent yet: ${places.join("; ")}. Signing out drops them.`;
  if (places.length && !(await ask(question, "Drop them and sign out"))) return;
  typedStore.forgetAll();
  form.submit();
}

export function keepWords(root) {
  typedStore.forgetOld(Date.now());
  forgetArrived();
  bringBack(root, new Set(), { isFirst: true });
  for (const line of /** @type {NodeListOf<HTMLElement>} */ (root.querySelectorAll("[data-typed-before]"))) {
    line.hidden = !typedStore.works || !typedStore.read(line.dataset.typedBefore ?? "");
  }
  for (const name of ["input", "change"]) {
    root.addEventListener(name, (event) => {
      const form = /** @type {HTMLInputElement} */ (event.target).form;
      if (form) keepTyped(form);
    }, true);
  }
  // On the window, so that whatever else hears of a submit has had its say: who sends by script prevents it.
  window.addEventListener("submit", (event) => {
    const form = /** @type {HTMLFormElement} */ (event.target);
    if (event.defaultPrevented) return;
    if (!form.hasAttribute("data-sign-out")) return markSent(form);
    event.preventDefault();
    signOut(form);
  });
}
