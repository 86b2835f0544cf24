/* Fill in the time zone of this browser where nobody has said one yet.
 *
 *   <form data-guess-zone> … <input name="zone" value="UTC"> … </form>
 */
export function guessZone(form) {
  const field = form.elements.namedItem("zone");
  const zone = Intl.DateTimeFormat().resolvedOptions().timeZone;
  const known = [...document.querySelectorAll("#known-zones option")].some((option) => option.value === zone);
  if (field && known && field.value === "UTC") field.value = zone;
}

for (const form of document.querySelectorAll("[data-guess-zone]")) guessZone(form);
