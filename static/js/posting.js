/* Send a form to its own address and read the answer, or the sentence that says why not. */
const LOST = "The answer did not arrive. Check the connection and press once more; nothing you wrote is lost.";

/** Post data and resolve to the JSON answer; rejects with an Error whose message is a sentence. */
export async function post(url, data, token) {
  let answer;
  try {
    answer = await fetch(url, {
      method: "POST", body: data, credentials: "same-origin",
      headers: { Accept: "application/json", "X-CSRFToken": token },
    });
  } catch {
    throw new Error(LOST);
  }
  const said = await answer.json().catch(() => ({}));
  if (!answer.ok) throw new Error(said.sentence || `This was refused (${answer.status}). Load the page again and try once more.`);
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
