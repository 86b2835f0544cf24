/* How large a millimetre is on this screen. CSS fixes 96 px to the inch, screens do not: a person may check with a bank
 * card (ISO/IEC 7810 ID-1: 85.60 x 53.98 mm) and the correction is kept in this browser. */
export const CARD_MM = [85.6, 53.98];
const CSS_PX_PER_MM = 96 / 25.4;
const KEPT_AS = "roughproof.real-size";
const [LEAST, MOST] = [0.5, 2.5];

export function correctionFrom(text) {
  const value = Number.parseFloat(text);
  return Number.isFinite(value) && value >= LEAST && value <= MOST ? value : 1;
}

export const pxPerMm = (correction) => CSS_PX_PER_MM * correction;

/** The zoom at which a picture appears at print size. */
export const zoomAtRealSize = (mmPerPx, correction) => Math.log2(mmPerPx * pxPerMm(correction));

/** What share of print size a zoom shows. */
export const shareOfRealSize = (zoom, mmPerPx, correction) => 2 ** zoom / (mmPerPx * pxPerMm(correction));

/** A round length in mm for a scale bar no wider than `mostPx`. */
export function barLength(zoom, mmPerPx, mostPx) {
  const mostMm = (mostPx / 2 ** zoom) * mmPerPx;
  const lengths = [1, 2, 5, 10, 20, 50, 100, 200, 500];
  return lengths.filter((mm) => mm <= mostMm).at(-1) ?? null;
}

export function keptCorrection() {
  try {
    return correctionFrom(window.localStorage.getItem(KEPT_AS));
  } catch {
    return 1; // storage may be forbidden; the table works without
  }
}

export function keepCorrection(value) {
  try {
    window.localStorage.setItem(KEPT_AS, String(value));
  } catch {
    // see keptCorrection
  }
}

/** Let a person match a drawn card to a real one; `onChange` hears each correction. */
export function bindCardCheck(dialog, opener, onChange) {
  const card = dialog.querySelector("[data-card]");
  const slider = dialog.querySelector("[data-card-size]");
  const show = () => {
    const scale = pxPerMm(Number(slider.value));
    card.style.width = `${CARD_MM[0] * scale}px`;
    card.style.height = `${CARD_MM[1] * scale}px`;
  };
  opener.addEventListener("click", () => {
    slider.value = String(keptCorrection());
    show();
    dialog.showModal();
  });
  slider.addEventListener("input", show);
  dialog.addEventListener("close", () => {
    if (dialog.returnValue !== "keep") return;
    keepCorrection(correctionFrom(slider.value));
    onChange();
  });
}
