/* Send a form to its own address and read the answer, or the sentence that says why not. */
const LOST = "The answer did not arrive. Check the connection and press once more; nothing you wrote is lost.";
const FAILED = "Something failed on our side, not yours. Nothing you wrote is lost: press once more in a moment.";

/* A press whose answer was lost keeps its key: pressed once more, it is the same press, and is done once. Whatever else
   is sent to the same address comes after it, so the same words again, later on, are another press. */
const unanswered = new Map();

export const freshPress = () => crypto.randomUUID?.() ?? Array.from(crypto.getRandomValues(new Uint32Array(4))).join("-");

const signOf = (data) =>
  JSON.stringify([...data.entries()].filter(([name]) => name !== "press" && name !== "csrfmiddlewaretoken").map(([name, value]) => [name, value.name ?? value]));

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
    throw new Error(LOST);
  }
  const said = await answer.json().catch(() => null);
  if (answer.status >= 500) throw new Error(said?.sentence || FAILED);
  if (answer.ok && !said) throw new Error(LOST);
  if (unanswered.get(url)?.press === press) unanswered.delete(url);
  if (!answer.ok) throw new Error(said?.sentence || `This was refused (${answer.status}). Load the page again and try once more.`);
  return said;
}

export const tokenOf = (form) => form.querySelector("[name=csrfmiddlewaretoken]")?.value ?? "";

/** Post a form; it counts as busy, and cannot be sent again, until the answer is there. */
export async function postForm(form, submitter) {
  if (form.getAttribute("aria-busy") === "true") return null;
  form.setAttribute("aria-busy", "true");
  try {
    return await post(form.action, new FormData(form, submitter), tokenOf(form));
  } finally {
    form.removeAttribute("aria-busy");
  }
}
