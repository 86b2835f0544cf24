/**
 * Load a page anew while something on it is being made.
 *
 *     <p role="status" data-look-again>It is being made.</p>
 */
const AGAIN_MS = 3000;

if (document.querySelector("[data-look-again]")) window.setTimeout(() => window.location.reload(), AGAIN_MS);
