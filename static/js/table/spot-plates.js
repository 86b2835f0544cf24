/* The spot plates of a picture as sheets over the art, each switched on and off by its name in the caption. */

export class SpotPlates {
  constructor(viewer, root, { say }) {
    this.viewer = viewer;
    this.root = root;
    this.say = say;
    this.laid = new Map();
    viewer.addPane("plates", 200);
    root.addEventListener("click", (event) => {
      const button = event.target.closest("[data-plate]");
      if (button) this.turn(button);
    });
  }

  turn(button) {
    const url = button.dataset.plate;
    const isLaid = this.laid.has(url);
    if (isLaid) this.lift(url);
    else this.lay(url);
    button.setAttribute("aria-pressed", String(!isLaid));
    this.say(`${button.dataset.plateName} ${isLaid ? "is lifted off" : "lies over the art"}.`, { aloudOnly: true });
  }

  lay(url) {
    const { width_px: width, height_px: height } = this.viewer.picture;
    const sheet = this.viewer.L.imageOverlay(url, [[0, 0], [height, width]], { pane: "plates", alt: "", className: "spot-plate" });
    this.laid.set(url, sheet.addTo(this.viewer.map));
  }

  lift(url) {
    this.laid.get(url).remove();
    this.laid.delete(url);
  }

  /** The table shows another picture: its plates are its own. */
  shown() {
    for (const url of [...this.laid.keys()]) this.lift(url);
    for (const button of this.root.querySelectorAll("[data-plate]")) button.setAttribute("aria-pressed", "false");
  }
}
