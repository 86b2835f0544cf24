/* Order and limits of the pictures being gathered for a hand-in: plain lists, no page. */
export const MOST_PICTURES = 20;

/** The list with the item at `from` moved to `to`, both clamped; the list itself is left alone. */
export function movedItem(list, from, to) {
  if (from < 0 || from >= list.length) return list.slice();
  const next = list.slice();
  const [item] = next.splice(from, 1);
  next.splice(Math.min(Math.max(to, 0), next.length), 0, item);
  return next;
}

/** Split newly chosen files into those there is room for and those that must wait. */
export function roomFor(files, already, most = MOST_PICTURES) {
  const room = Math.max(0, most - already);
  return { taken: files.slice(0, room), left: files.slice(room) };
}

/** In the words the page has for a file that lies there already, with the same space that does not break. */
export function sizeWords(bytes) {
  if (bytes < 1024) return `${bytes}\u00a0byte${bytes === 1 ? "" : "s"}`;
  const [unit, name] = bytes < 1024 ** 2 ? [1024, "KB"] : bytes < 1024 ** 3 ? [1024 ** 2, "MB"] : [1024 ** 3, "GB"];
  return `${(bytes / unit).toFixed(1)}\u00a0${name}`;
}
