/* Read one of our own pages for its parts, and leave what it has to tell for the page that a person sees.
 *
 * A strip ("Handed in: number 2 …") is told once, by the first page that draws it. A page fetched in the background would
 * take it away unseen, so this says that nobody reads it: portal/strips.py.
 */

/** The page at `address`, or null where the server refused it. Rejects where no answer came. `by` is "clock" where nobody
 * pressed anything: a screen left open does not keep its person signed in (views/sessions.py). */
export async function readPage(address, { by = "script" } = {}) {
  const answer = await fetch(address, { credentials: "same-origin", headers: { Accept: "text/html", "X-Read-By": by } });
  return answer.ok ? new DOMParser().parseFromString(await answer.text(), "text/html") : null;
}
