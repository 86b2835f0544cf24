/* A double click sends once: after the first submit of a posting form, further ones are swallowed until the page is left.
 * The server refuses a second hand-in too; this only spares people the refusal. Forms sent by fetch carry data-by-fetch and
 * look after themselves. */
export function sendOnce(root) {
  const gone = new WeakSet();
  root.addEventListener("submit", (event) => {
    const form = event.target;
    if (event.defaultPrevented || form.method !== "post" || form.hasAttribute("data-by-fetch")) return;
    if (gone.has(form)) {
      event.preventDefault();
      return;
    }
    gone.add(form);
    form.setAttribute("aria-busy", "true");
  });
  // Coming back by the browser's Back button must find the form alive again.
  window.addEventListener("pageshow", (event) => {
    if (event.persisted) window.location.reload();
  });
}
