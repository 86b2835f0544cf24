import { OptionMarks } from "./table/option-marks.js";
import { readPage } from "./read-page.js";

/* The board of options: a mark is kept where one looks, and the board stays where it is. */
const board = document.querySelector("[data-option-board][data-in-place]");

async function fetchPage() {
  const page = await readPage(window.location.href);
  if (!page) throw new Error("The board could not be read again. Load the page to see it as it is now.");
  return page;
}

if (board) {
  const said = board.querySelector("[data-said]");
  new OptionMarks(board, { fetchPage, say: (words) => (said.textContent = words) });
}
