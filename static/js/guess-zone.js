/* Fill in the time zone of this browser where nobody has said one yet, or tell it with a form that signs in.
 *
 *   <form data-guess-zone> … <input name="zone" value="" list="known-zones"> … </form>
 *   <datalist id="known-zones"><option value="London, Europe" data-zone="Europe/London"> … </datalist>
 *   <form data-guess-zone> … <input type="hidden" name="browser_zone" value=""> … </form>
 */
export function guessZone(form) {
  const zone = Intl.DateTimeFormat().resolvedOptions().timeZone;
  const told = form.elements.namedItem("browser_zone");
  if (told) told.value = zone;
  const field = form.elements.namedItem("zone");
  if (!field || field.value !== "") return;
  const options = [.../** @type {NodeListOf<HTMLOptionElement>} */ (document.querySelectorAll("#known-zones option"))];
  const known = options.find((option) => option.dataset.zone === zone);
  if (known) field.value = known.value;
}

for (const form of document.querySelectorAll("[data-guess-zone]")) guessZone(form);
