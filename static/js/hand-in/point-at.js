/* Point at a stroke in a scan: the pointer fills the numbers, a ring shows where, and the surroundings are enlarged.
 *
 * The markup is templates/reviews/hand_ins/pencil.html, a [data-point-at]. The numbers alone are sent, so that typing them
 * does the same; each arrow key in them moves the ring a little.
 */
const TIMES = 6;
// What an arrow key moves by, in per cent.
const STEP = 0.05;

function perCent(share) {
  return (Math.round(100 * Math.min(1, Math.max(0, share)) / STEP) * STEP).toFixed(2);
}

class PointAt {
  constructor(form) {
    this.form = form;
    this.scan = /** @type {HTMLImageElement} */ (form.querySelector("[data-scan]"));
    this.ring = form.querySelector("[data-ring]");
    this.near = form.querySelector("[data-near]");
    this.canvas = /** @type {HTMLCanvasElement} */ (form.querySelector("[data-canvas]"));
    this.across = form.elements.across;
    this.down = form.elements.down;
  }

  start() {
    this.scan.addEventListener("click", (event) => this.point(event));
    for (const field of [this.across, this.down]) field.addEventListener("input", () => this.show());
    this.scan.addEventListener("load", () => this.show());
    this.show();
  }

  point(event) {
    const box = this.scan.getBoundingClientRect();
    this.across.value = perCent((event.clientX - box.left) / box.width);
    this.down.value = perCent((event.clientY - box.top) / box.height);
    this.show();
  }

  /** Show where the numbers point, or nothing while they do not say. */
  show() {
    const [x, y] = [this.across, this.down].map((field) => (field.value === "" ? NaN : Number(field.value) / 100));
    const isThere = [x, y].every((share) => share >= 0 && share <= 1);
    this.ring.hidden = this.near.hidden = !isThere;
    if (!isThere) return;
    this.ring.style.left = `${100 * x}%`;
    this.ring.style.top = `${100 * y}%`;
    this.enlarge(x, y);
  }

  enlarge(x, y) {
    const { naturalWidth: width, naturalHeight: height } = this.scan;
    if (!width) return;
    const pen = this.canvas.getContext("2d");
    const side = this.canvas.width / TIMES;
    pen.clearRect(0, 0, this.canvas.width, this.canvas.height);
    pen.imageSmoothingEnabled = false;
    pen.drawImage(this.scan, x * width - side / 2, y * height - side / 2, side, side, 0, 0, this.canvas.width, this.canvas.height);
    const middle = this.canvas.width / 2;
    for (const [colour, wide] of [["#fff", 4], ["#000", 2]]) {
      pen.beginPath();
      pen.arc(middle, middle, 4 * TIMES, 0, 2 * Math.PI);
      pen.strokeStyle = String(colour);
      pen.lineWidth = Number(wide);
      pen.stroke();
    }
  }
}

for (const form of document.querySelectorAll("[data-point-at]")) new PointAt(form).start();
