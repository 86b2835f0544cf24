/* Show the next closed days of a place as it is chosen. Without scripts they are those of the place the page came with.
 *
 *   <input id="id_place" list="known-places">
 *   <div data-closed-days="/places/closed-days/" data-of="id_place" aria-live="polite">…</div>
 */
export function showClosedDays(part) {
  const field = /** @type {HTMLInputElement | null} */ (document.getElementById(part.dataset.of));
  if (!field) return;
  let asked = 0;
  let shown = field.defaultValue;
  const show = async () => {
    if (field.value === shown) return;
    const mine = ++asked;
    const place = field.value;
    const answer = await fetched(`${part.dataset.closedDays}?place=${encodeURIComponent(place)}`);
    // Of two places chosen one after the other, the second stays, whichever answer comes last.
    if (answer === null || mine !== asked) return;
    shown = place;
    const page = new DOMParser().parseFromString(answer, "text/html");
    part.replaceChildren(...[...page.body.childNodes].map((node) => document.adoptNode(node)));
  };
  field.addEventListener("change", show);
  // What was typed before and is put back by the browser, or by the page, changes no field by an event of its own.
  window.addEventListener("pageshow", () => void show());
}

async function fetched(address) {
  try {
    const answer = await fetch(address, { headers: { "X-Requested-With": "fetch" } });
    return answer.ok ? await answer.text() : null;
  } catch {
    return null; // the line of before stays, and the form says on posting what is wrong with a place
  }
}

for (const part of document.querySelectorAll("[data-closed-days]")) showClosedDays(part);
