/* Put a question before a form is sent.
 *
 *   <button data-ask="Send the letter now?" data-ask-yes="Send it">…</button>
 *
 * The form may carry data-ask instead of the button. The page holds one <dialog data-ask-dialog> (templates/parts/ask.html).
 */
export function askBefore(root) {
  const answered = new WeakSet();
  // Capture: the question must come before send-once.js marks the form as gone.
  root.addEventListener("submit", (event) => {
    const form = event.target;
    const asker = [event.submitter, form].find((element) => element?.dataset?.ask);
    if (!asker || answered.delete(form)) return;
    event.preventDefault();
    event.stopImmediatePropagation();
    ask(asker.dataset.ask, asker.dataset.askYes).then((yes) => {
      if (!yes) return;
      answered.add(form);
      form.requestSubmit(event.submitter?.form === form ? event.submitter : undefined);
    });
  }, true);
}

/** Ask one question in the page's dialog; resolves to true or false. */
export function ask(words, yesLabel = "Yes") {
  const dialog = /** @type {HTMLDialogElement} */ (document.querySelector("[data-ask-dialog]"));
  dialog.querySelector("[data-ask-words]").textContent = words;
  dialog.querySelector("[data-ask-yes-button]").textContent = yesLabel;
  dialog.returnValue = "no";
  dialog.showModal();
  return new Promise((resolve) => {
    dialog.addEventListener("close", () => resolve(dialog.returnValue === "yes"), { once: true });
  });
}
