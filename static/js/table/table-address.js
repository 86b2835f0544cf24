/* The table's address says what lies open on it, so that it can be sent to a colleague, and Back closes what was opened last:
 *
 *   #picture-5             one option of several, opened
 *   #over-12, #beside-12   the earlier version of comparison 12, laid over the new one or beside it
 *   #place-12-A            a changed place of it
 *   #note-34               a note
 *
 * Several stand beside each other with a comma.
 */
const PARTS = {
  picture: /^picture-(\d+)$/,
  laid: /^((?:over|beside)-\d+)$/,
  place: /^place-(\d+-[A-Za-z]+)$/,
  note: /^note-(\d+)$/,
};
const written = (part, value) => (part === "laid" ? value : `${part}-${value}`);

/** @returns {{picture?: string, laid?: string, place?: string, note?: string}} */
export function partsOf(hash) {
  const parts = {};
  for (const token of hash.replace(/^#/, "").split(",")) {
    for (const [part, shape] of Object.entries(PARTS)) {
      const found = shape.exec(token);
      if (found) parts[part] = found[1];
    }
  }
  return parts;
}

export function hashOf(parts) {
  const tokens = Object.keys(PARTS).filter((part) => parts[part]).map((part) => written(part, parts[part]));
  return tokens.length ? `#${tokens.join(",")}` : "";
}

export class TableAddress {
  constructor(onMove) {
    window.addEventListener("popstate", () => onMove(this.parts));
  }

  get parts() {
    return partsOf(window.location.hash);
  }

  /** Something was opened, changed or (value null) closed; `quiet` makes no step that Back would take. */
  set(part, value, { quiet = false } = {}) {
    const { history, location } = window;
    const parts = this.parts;
    const was = parts[part] ?? null;
    if (was === (value === null ? null : String(value))) return;
    if (value === null && !quiet && history.state?.opened === part) return history.back();
    const to = location.pathname + location.search + hashOf({ ...parts, [part]: value });
    if (was === null && !quiet) return history.pushState({ opened: part }, "", to);
    return history.replaceState(history.state, "", to);
  }
}
