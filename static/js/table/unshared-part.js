/* What only one of the two versions shows, drawn where it lies: hatched on the new picture where it shows more, and around it
 * where the earlier one went on. Each part carries its name, since hatching alone says nothing to who does not see it. */
import { around, cornersOf, sharedRing, stripOf } from "./compare-laying.js";

const PAGE = [[0, 0], [1, 0], [1, 1], [0, 1]];
const NAMES = { now: "Newly shown", before: "No longer shown" };

export class UnsharedPart {
  constructor(viewer) {
    this.viewer = viewer;
    viewer.addPane("unshared", 415);
    this.group = viewer.L.layerGroup().addTo(viewer.map);
    this.reach = [0, 0, 1, 1];
  }

  /** Draw what the server told of one comparison; `laying` carries the earlier picture onto this one. */
  draw(parts, laying) {
    this.group.clearLayers();
    this.reach = [0, 0, 1, 1];
    if (!laying) return;
    const frame = cornersOf(laying);
    const shared = sharedRing(frame);
    for (const { when } of parts) {
      const whole = when === "now" ? PAGE : frame;
      if (when === "before") this.reach = around([...PAGE, ...frame]);
      this.drawOne(whole, shared, NAMES[when]);
    }
  }

  drawOne(whole, shared, name) {
    const rings = [whole, ...(shared.length > 2 ? [shared] : [])].map((ring) => ring.map((corner) => this.viewer.at(corner)));
    this.viewer.L.polygon(rings, {
      pane: "unshared", className: "unshared-part", fill: true, fillColor: "url(#hatch-board)", fillOpacity: 1, interactive: false,
    }).addTo(this.group);
    const icon = this.viewer.L.divIcon({ className: "unshared-name", html: `<span>${name}</span>`, iconSize: null });
    const middle = this.viewer.at(stripOf(whole, shared));
    // Above the outline of its own pane, which else strikes the name through near the page's top.
    this.viewer.L.marker(middle, { icon, pane: "unshared", interactive: false, keyboard: false, zIndexOffset: 1000 }).addTo(this.group);
  }

  show(isShown) {
    if (isShown) this.group.addTo(this.viewer.map);
    else this.group.remove();
  }
}
