/**
 * What a finish reflects, pixel by pixel: pure arithmetic, which runs without a page.
 *
 * A plate is dark where it finishes. Its slope is that of the plate blurred by three pixels, as a die's edge is soft.
 */

/** Linear light of each metal, as it reflects a white lamp straight back: the look on a screen, no measurement. */
const METALS = { gold: [1.0, 0.78, 0.34], silver: [0.95, 0.95, 0.96], copper: [0.98, 0.64, 0.49] };

/**
 * @typedef {{ covered: Float32Array, right: Float32Array, down: Float32Array }} Shape
 * @typedef {{ finish: string, metal: string, x: number, y: number, width: number }} Light
 */

/**
 * Give how much of each pixel is finished (0 to 1), and its slopes.
 * @param {ArrayLike<number>} data RGBA of the plate over white
 * @param {number} width
 * @param {number} height
 * @returns {Shape}
 */
export function slopes(data, width, height) {
    const covered = new Float32Array(width * height);
    for (let at = 0; at < covered.length; at += 1) {
        covered[at] = 1 - Math.min(data[4 * at] ?? 255, data[4 * at + 1] ?? 255, data[4 * at + 2] ?? 255) / 255;
    }
    const soft = blurred(covered, width, height, 3);
    const right = new Float32Array(covered.length);
    const down = new Float32Array(covered.length);
    for (let y = 1; y < height - 1; y += 1) {
        for (let x = 1; x < width - 1; x += 1) {
            const at = y * width + x;
            right[at] = ((soft[at - 1] ?? 0) - (soft[at + 1] ?? 0)) / 2;
            down[at] = ((soft[at - width] ?? 0) - (soft[at + width] ?? 0)) / 2;
        }
    }
    return { covered, right, down };
}

/** @param {Float32Array} from @param {number} width @param {number} height @param {number} reach */
function blurred(from, width, height, reach) {
    const across = new Float32Array(from.length);
    const both = new Float32Array(from.length);
    const n = 2 * reach + 1;
    for (let y = 0; y < height; y += 1) {
        for (let x = 0; x < width; x += 1) {
            let sum = 0;
            for (let d = -reach; d <= reach; d += 1) {
                sum += from[y * width + Math.max(0, Math.min(width - 1, x + d))] ?? 0;
            }
            across[y * width + x] = sum / n;
        }
    }
    for (let y = 0; y < height; y += 1) {
        for (let x = 0; x < width; x += 1) {
            let sum = 0;
            for (let d = -reach; d <= reach; d += 1) {
                sum += across[Math.max(0, Math.min(height - 1, y + d)) * width + x] ?? 0;
            }
            both[y * width + x] = sum / n;
        }
    }
    return both;
}

/**
 * How bright the room is in the direction in which a pixel mirrors it: one lamp that follows, one wide window.
 * @param {number} right @param {number} down @param {number} x @param {number} y
 */
function room(right, down, x, y) {
    const lamp = Math.exp(-6 * ((right - x) ** 2 + (down - y) ** 2));
    const window_ = Math.exp(-3 * (right + 0.6 * x + 0.5) ** 2);
    return 0.18 + 0.95 * lamp + 0.4 * window_;
}

/**
 * Write the art with its finish under a light into `out` (RGBA).
 * @param {Uint8ClampedArray} out
 * @param {ArrayLike<number>} under RGBA of the art
 * @param {Shape} shape
 * @param {Light} light
 */
export function reflected(out, under, shape, { finish, metal, x, y, width }) {
    const tint = METALS[/** @type {keyof typeof METALS} */ (metal)] ?? METALS.silver;
    const height = shape.covered.length / width;
    for (let at = 0; at < shape.covered.length; at += 1) {
        const covered = shape.covered[at] ?? 0;
        // Where the eye stands changes what a flat sheet mirrors from one side to the other.
        const right = (2 * (at % width)) / width - 1 + 4 * (shape.right[at] ?? 0);
        const down = (2 * Math.floor(at / width)) / height - 1 + 4 * (shape.down[at] ?? 0);
        const bright = room(right, down, x, y);
        for (let part = 0; part < 3; part += 1) {
            const ink = under[4 * at + part] ?? 255;
            let seen = ink;
            if (finish === "foil") {
                seen = 255 * Math.min(1, (tint[part] ?? 1) * bright) ** (1 / 2.2);
            } else if (finish === "spot-varnish") {
                seen = ink * 0.94 + 120 * Math.max(0, bright - 0.45);
            } else {
                const raised = (shape.right[at] ?? 0) * x + (shape.down[at] ?? 0) * y;
                seen = ink * (1 + 2.2 * raised);
            }
            // Embossing shows at its slopes, which reach beyond the plate's edge.
            const share = finish === "emboss" ? 1 : covered;
            out[4 * at + part] = ink + share * (seen - ink);
        }
        out[4 * at + 3] = 255;
    }
}
