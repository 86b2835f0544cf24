/**
 * Show a special finish over its art as it will look: light that moves over metal, varnish or an embossed shape.
 *
 * Each pixel of the plate is a small mirror. Its slope comes from the plate itself (a soft edge where the die presses),
 * and what it reflects is a room with two lights, turned by the pointer or by tilting the device. Whoever asked for less
 * motion gets a picture that stands still. Without scripts the plate lies over the art as the page drew it.
 *
 * A plate is black on white, or with data-sheet its ink alone on nothing, in whatever colour.
 *
 *     <figure data-finish-light data-art data-plate data-sheet data-finish data-metal data-view="w h" data-box="x y w h">
 */
import { reflected, slopes } from "./finish-shine.js";

const WIDEST = 900;
const still = window.matchMedia("(prefers-reduced-motion: reduce)");

/** @param {string} url @returns {Promise<HTMLImageElement>} */
function loaded(url) {
    return new Promise((done, failed) => {
        const image = new Image();
        image.onload = () => done(image);
        image.onerror = () => failed(new Error(url));
        image.src = url;
    });
}

/**
 * Paint the whole canvas in one colour, laid on what is there in one way.
 * @param {CanvasRenderingContext2D} pen @param {GlobalCompositeOperation} how @param {string} colour
 */
function painted(pen, how, colour) {
    pen.globalCompositeOperation = how;
    pen.fillStyle = colour;
    pen.fillRect(0, 0, pen.canvas.width, pen.canvas.height);
    pen.globalCompositeOperation = "source-over";
}

/** @param {HTMLElement} figure */
async function shine(figure) {
    const { art = "", plate = "", finish = "", metal = "", view = "", box = "" } = figure.dataset;
    const [wide = 1, high = 1] = view.split(" ").map(Number);
    const [left = 0, top = 0, across = wide, down = high] = box.split(" ").map(Number);
    const scale = Math.min(1, WIDEST / wide);
    const canvas = document.createElement("canvas");
    canvas.width = Math.round(wide * scale);
    canvas.height = Math.round(high * scale);
    const pen = canvas.getContext("2d", { willReadFrequently: true });
    if (!pen) return;
    const images = await Promise.all([loaded(art), loaded(plate)]);
    pen.drawImage(images[1], left * scale, top * scale, across * scale, down * scale);
    if ("sheet" in figure.dataset) painted(pen, "source-in", "#000");
    painted(pen, "destination-over", "#fff");
    const mask = pen.getImageData(0, 0, canvas.width, canvas.height);
    pen.drawImage(images[0], 0, 0, canvas.width, canvas.height);
    const under = pen.getImageData(0, 0, canvas.width, canvas.height);
    const shape = slopes(mask.data, canvas.width, canvas.height);
    const out = pen.createImageData(canvas.width, canvas.height);

    /** @param {number} x @param {number} y where the light comes from, -1 to 1 */
    function light(x, y) {
        reflected(out.data, under.data, shape, { finish, metal, x, y, width: canvas.width });
        pen?.putImageData(out, 0, 0);
        canvas.dataset.light = `${x.toFixed(2)} ${y.toFixed(2)}`;
    }

    canvas.className = "finish-light";
    canvas.setAttribute("role", "img");
    canvas.setAttribute("aria-label", "The finish over the art, as it may look in the light");
    light(-0.3, -0.4);
    figure.prepend(canvas);
    figure.dataset.lit = "";
    if (!still.matches) follow(canvas, light);
}

/** @param {HTMLCanvasElement} canvas @param {(x: number, y: number) => void} light */
function follow(canvas, light) {
    let waits = 0;
    /** @param {number} x @param {number} y */
    function soon(x, y) {
        if (still.matches) return;
        cancelAnimationFrame(waits);
        waits = requestAnimationFrame(() => light(Math.max(-1, Math.min(1, x)), Math.max(-1, Math.min(1, y))));
    }
    canvas.addEventListener("pointermove", (event) => {
        const box = canvas.getBoundingClientRect();
        soon((2 * (event.clientX - box.left)) / box.width - 1, (2 * (event.clientY - box.top)) / box.height - 1);
    });
    window.addEventListener("deviceorientation", (event) => {
        if (event.gamma === null || event.beta === null) return;
        soon(event.gamma / 30, (event.beta - 45) / 30);
    });
}

for (const figure of document.querySelectorAll("[data-finish-light]")) {
    // Where a picture cannot be fetched the page's own drawing stands.
    shine(/** @type {HTMLElement} */ (figure)).catch(() => undefined);
}
