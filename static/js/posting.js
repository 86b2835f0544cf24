import { sending, typedStore } from "./typed/typed-words.js";

/* Send a form to its own address and read the answer, or the sentence that says why not. */
const LOST = "The answer did not arrive. Check the connection and press once more; nothing you wrote is lost.";
const FAILED = "Something failed on our side, not yours. Nothing you wrote is lost: press once more in a moment.";

const AGAIN = "Load the page again and try once more; what you typed comes back.";
const KEPT_HERE = "What you wrote is kept on this device and comes back once you are in again.";

/* A press whose answer was lost keeps its key: pressed once more, it is the same press, and is done once. Whatever else
   is sent to the same address comes after it, so the same words again, later on, are another press. */
const unanswered = new Map();

export const freshPress = () => crypto.randomUUID?.() ?? Array.from(crypto.getRandomValues(new Uint32Array(4))).join("-");

const signOf = (data) =>
  JSON.stringify([...data.entries()].filter(([name]) => name !== "press" && name !== "csrfmiddlewaretoken").map(([name, value]) => [name, value.name ?? value]));

/** A press of before this page was loaded whose answer never came: sent with the same words, it is that press. */
export function goOnWith(form, press) {
  unanswered.set(form.action, { sign: signOf(new FormData(form)), press });
}

export const pressOf = (form) => unanswered.get(form.action)?.press ?? null;

/** Post data and resolve to the JSON answer; rejects with an Error whose message is a sentence.
 * `is_repeated` in an answer says that the press was done before and its own answer could not be kept: there is a
 * `sentence` and nothing else, and only the page itself knows what came of it. */
export async function post(url, data, token) {
  let answer;
  const sign = signOf(data);
  const last = unanswered.get(url);
  const press = last?.sign === sign ? last.press : freshPress();
  unanswered.set(url, { sign, press });
  try {
    answer = await fetch(url, {
      method: "POST", body: data, credentials: "same-origin",
      headers: { Accept: "application/json", "X-CSRFToken": token, "X-Press": press },
    });
  } catch {
    throw Object.assign(new Error(LOST), { isLost: true });
  }
  const said = await answer.json().catch(() => null);
  if (answer.status >= 500) throw new Error(said?.sentence || FAILED);
  if (answer.ok && !said) throw new Error(LOST);
  if (unanswered.get(url)?.press === press) unanswered.delete(url);
  if (said?.signed_out) throw new Error(signedOut());
  if (!answer.ok) throw Object.assign(new Error(said?.sentence || `This was refused (${answer.status}). ${AGAIN}`), { now: said });
  return said;
}

/** Say that the sign-in ran out, with the way back to this very page. */
export function signedOut() {
  const kept = typedStore.works ? KEPT_HERE : "Copy what you wrote first: this browser keeps nothing.";
  const strip = document.createElement("p");
  strip.className = "strip error";
  const way = document.createElement("a");
  way.href = `${document.documentElement.dataset.signIn}?${new URLSearchParams({ next: location.pathname + location.search })}`;
  way.textContent = "Sign in again";
  strip.append("You are signed out. ", way, `. ${kept}`);
  document.querySelector("[data-status]")?.replaceChildren(strip);
  return `You are signed out. ${kept}`;
}

export const tokenOf = (form) => form.querySelector("[name=csrfmiddlewaretoken]")?.value ?? "";

/** Post a form; it counts as busy, and cannot be sent again, until the answer is there. */
export async function postForm(form, submitter) {
  if (form.getAttribute("aria-busy") === "true") return null;
  form.setAttribute("aria-busy", "true");
  const arrived = sending(form);
  try {
    const said = await post(form.action, new FormData(form, submitter), tokenOf(form));
    arrived();
    return said;
  } finally {
    form.removeAttribute("aria-busy");
  }
}
