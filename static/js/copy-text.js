/* Offer to copy what a field that is only read holds. Without scripts there is no button, and the field can be marked by
 * hand as ever.
 *
 *   <input id="address" readonly value="…">
 *   <p data-copies="address" hidden><button type="button">Copy the address</button> <span role="status"></span></p>
 */
const COPIED = "It is copied.";
const BY_HAND = "This browser does not let pages copy. The text is marked now: copy it with the keyboard.";

export function offerCopy(offer) {
  const field = document.getElementById(offer.dataset.copies);
  const said = offer.querySelector("[role=status]");
  offer.querySelector("button").addEventListener("click", async () => {
    said.textContent = (await copied(field)) ? COPIED : BY_HAND;
  });
  offer.hidden = false;
}

async function copied(field) {
  try {
    await navigator.clipboard.writeText(field.value);
    return true;
  } catch {
    // Refused, or not there at all: browsers keep it from pages that come over plain http.
    field.focus();
    field.select();
    return false;
  }
}

for (const offer of document.querySelectorAll("[data-copies]")) offerCopy(offer);
