/* What others did on a book while a page of it lies open: told on a slip, and nothing on the page changes by itself.
 *
 *   <nav data-book-news="/books/7/news/?since=…&on=wall">
 */
import { Asking } from "./asking.js";
import { NewsSlip } from "./news-slip.js";

const EVERY_MS = 15_000;

export function tellBookNews(root) {
  const address = root.querySelector("[data-book-news]")?.dataset.bookNews;
  if (!address) return;
  let slip = null;
  new Asking(address, {
    every: EVERY_MS,
    onNews(news) {
      if (news.lines.length) slip ??= new NewsSlip(document.body);
      for (const line of news.lines) slip.tell(line);
    },
  }).start();
}
