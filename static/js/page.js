/* What every page has: one question before a deed that cannot be taken back, one sending per press, menus that close, words
 * that outlast the page, no control that a tap meant for another one could press, and what others do meanwhile. */
import { askBefore } from "./ask-before.js";
import { closeMenus } from "./menu.js";
import { tellBookNews } from "./news/book-news.js";
import { indexPage } from "./page-index.js";
import { sendOnce } from "./send-once.js";
import { guardTaps } from "./tap-guard.js";
import { keepWords } from "./typed/typed-words.js";

askBefore(document);
sendOnce(document);
closeMenus(document);
keepWords(document); // before what folds: what came back is to be seen
indexPage(document);
guardTaps(window);
tellBookNews(document);
