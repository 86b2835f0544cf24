/* What every page has: one question before a deed that cannot be taken back, one sending per press, menus that close. */
import { askBefore } from "./ask-before.js";
import { closeMenus } from "./menu.js";
import { sendOnce } from "./send-once.js";

askBefore(document);
sendOnce(document);
closeMenus(document);
