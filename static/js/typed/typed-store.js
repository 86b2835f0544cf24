/* Words that were typed and that the server is not known to have, kept on this device: per person, page and form.
 *
 * An entry is {at, title, fields: {"words#0": {value, base}}, press}: `base` is what stood in the field before, `press` the
 * key of the form it was sent with, once it was sent. Everything here is synchronous, so nothing depends on a page living on.
 */
const PREFIX = "roughproof.typed";
const KEPT_DAYS = 30; // whoever has not come back by then does not look for a half sentence
const BETWEEN = "|";

export class TypedStore {
  /** `storage` is the browser's, or nothing where it is forbidden; `person` is empty where nobody is signed in. */
  constructor(storage, person, page) {
    this.storage = person ? storage : null;
    this.start = [PREFIX, person, ""].join(BETWEEN);
    this.page = page;
  }

  get works() {
    return Boolean(this.storage);
  }

  keyOf(form) {
    return this.start + [this.page, form].join(BETWEEN);
  }

  read(form) {
    return this.entryAt(this.keyOf(form));
  }

  entryAt(key) {
    try {
      const entry = JSON.parse(this.storage?.getItem(key) ?? "null");
      return typeof entry?.fields === "object" && Number.isFinite(entry.at) ? entry : null;
    } catch {
      return null;
    }
  }

  /** Keep an entry; says whether this device took it. */
  keep(form, entry) {
    try {
      this.storage?.setItem(this.keyOf(form), JSON.stringify(entry));
      return this.works;
    } catch {
      return false; // no room, or forbidden meanwhile
    }
  }

  forget(form) {
    this.forgetKey(this.keyOf(form));
  }

  forgetKey(key) {
    try {
      this.storage?.removeItem(key);
    } catch {
      // forbidden meanwhile: there is nothing to take away then
    }
  }

  /** Everything kept for this person: [{key, page, form, ...entry}], the newest first. */
  all() {
    const found = [];
    for (let at = 0; at < (this.storage?.length ?? 0); at += 1) {
      const key = this.storage.key(at);
      if (!key.startsWith(this.start)) continue;
      const entry = this.entryAt(key);
      const [page, form] = key.slice(this.start.length).split(BETWEEN);
      if (entry) found.push({ ...entry, key, page, form });
    }
    return found.sort((one, other) => other.at - one.at);
  }

  /** The server says that this press was done: it has the words. */
  arrived(press) {
    for (const entry of this.all()) if (entry.press === press) this.forgetKey(entry.key);
  }

  forgetAll() {
    for (const entry of this.all()) this.forgetKey(entry.key);
  }

  forgetOld(now) {
    for (const entry of this.all()) if (now - entry.at > KEPT_DAYS * 24 * 3600 * 1000) this.forgetKey(entry.key);
  }
}
