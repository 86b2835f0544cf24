/**
 * The picture on the board as a printing condition would print it: the newest soft proof laid over the art edge to edge,
 * and what is out of gamut hatched on it. Where none was made yet, the button leads to the page that makes one.
 *
 *     <button data-as-printed data-proofs="/pictures/_/as-printed/">  <select data-which-proof>  <button data-out-of-gamut>
 *     <p data-soft-caution> <a data-more-proofs>
 */
export class SoftProof {
  /** @param {any} table the review table */
  constructor(table) {
    this.table = table;
    this.button = table.one("as-printed");
    this.which = table.one("which-proof");
    this.outsideButton = table.one("out-of-gamut");
    this.proofs = [];
    this.layers = [];
    if (!this.button) return;
    table.viewer.addPane("as-printed", 280);
    this.button.addEventListener("click", () => (this.isLaid ? this.lift() : this.ask()));
    this.which.addEventListener("change", () => this.lay());
    this.outsideButton.addEventListener("click", () => this.toggleOutside());
  }

  get isLaid() {
    return this.layers.length > 0;
  }

  /** Fetch what is made of this picture; where nothing is, go where it can be asked for. */
  async ask() {
    const { picture } = this.table.viewer;
    const url = this.button.dataset.proofs.replace("_", String(picture.id));
    try {
      const answer = await fetch(url, { headers: { Accept: "application/json" } });
      if (!answer.ok) throw new Error("The pictures as printed could not be fetched. Try again.");
      const { proofs, page_url: page, caution } = await answer.json();
      // Another picture may lie on the board by now: what is made of this one is not laid over it.
      if (this.table.viewer.picture?.id !== picture.id) return undefined;
      if (!proofs.length) return window.location.assign(page);
      this.proofs = proofs;
      this.which.replaceChildren(...proofs.map(({ id, told }) => new Option(told, id)));
      this.table.one("more-proofs").href = page;
      this.lay();
      this.table.say(caution, { aloudOnly: true });
    } catch (problem) {
      this.table.say(problem.message, { wrong: true });
    }
    return undefined;
  }

  lay() {
    this.remove();
    const { viewer } = this.table;
    const proof = this.proofs.find((one) => String(one.id) === this.which.value) ?? this.proofs[0];
    const { width_px: width, height_px: height } = viewer.picture;
    const bounds = [[0, 0], [height, width]];
    this.layers = [viewer.L.imageOverlay(proof.url, bounds, { pane: "as-printed", alt: proof.told })];
    this.outside = proof.outside_url ? viewer.L.imageOverlay(proof.outside_url, bounds, { pane: "as-printed", alt: "" }) : null;
    if (this.outside && this.outsideButton.getAttribute("aria-pressed") === "true") this.layers.push(this.outside);
    for (const layer of this.layers) layer.addTo(viewer.map);
    this.show(true);
  }

  toggleOutside() {
    const on = this.outsideButton.getAttribute("aria-pressed") !== "true";
    this.outsideButton.setAttribute("aria-pressed", String(on));
    this.lay();
  }

  /** Take it off, as another picture is shown or the button is pressed again. */
  lift() {
    if (!this.button) return;
    this.remove();
    this.outside = null;
    this.show(false);
  }

  remove() {
    for (const layer of this.layers) layer.remove();
    this.layers = [];
  }

  show(on) {
    this.button.setAttribute("aria-pressed", String(on));
    this.which.hidden = !on;
    this.outsideButton.hidden = !on || !this.outside;
    this.table.one("soft-caution").hidden = !on;
  }
}
