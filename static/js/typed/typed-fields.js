/* The fields of a form that a person fills in: what is typed, what stood there before, and putting it back. */
const WORDS = ["text", "search", "email", "url", "tel", "number", "date", "time", "month"];
const TICKS = ["radio", "checkbox"];

const isWords = (field) => field.localName === "textarea" || (field.localName === "input" && WORDS.includes(field.type));
const isTick = (field) => field.localName === "input" && TICKS.includes(field.type);

/** A form whose words are kept: it writes something, and asks for no password. */
export const isKept = (form) =>
  form.method === "post" && !form.hasAttribute("data-typed-off") && !form.querySelector("[type=password], [data-typed-off]");

/** A name that the same form has on the page that is loaded next time. */
export function nameOf(form) {
  if (form.dataset.typed) return form.dataset.typed;
  const path = new URL(form.action, document.baseURI).pathname;
  return [path, [...form.elements].find(isWords)?.name ?? ""].join("#");
}

/** The fields that count, by name and place among those of the same name. */
export function fieldsOf(form) {
  const fields = new Map();
  const seen = new Map();
  for (const field of form.elements) {
    if (!field.name || !(isWords(field) || isTick(field) || field.localName === "select")) continue;
    const n = seen.get(field.name) ?? 0;
    seen.set(field.name, n + 1);
    fields.set(`${field.name}#${n}`, field);
  }
  return fields;
}

export function valueOf(field) {
  return isTick(field) ? field.checked : field.value;
}

export function standingOf(field) {
  if (isTick(field)) return field.defaultChecked;
  if (field.localName !== "select") return field.defaultValue;
  return ([...field.options].find((option) => option.defaultSelected) ?? field.options[0])?.value ?? "";
}

export function fill(field, value) {
  if (isTick(field)) field.checked = value;
  else field.value = value;
}

/** Whether the server sent this form back for want of something: what stands in it then is not kept anywhere. */
export const isSentBack = (form) => Boolean(form.querySelector("[aria-invalid=true]")) || Boolean(document.querySelector(".said.refused"));

/** What differs from what stood there, or nothing where no words do. `old` is what was kept of this form before. */
export function typedIn(form, old) {
  const typed = {};
  let hasWords = false;
  const sentBack = isSentBack(form);
  for (const [name, field] of fieldsOf(form)) {
    const [value, standing] = [valueOf(field), standingOf(field)];
    const base = old?.fields[name]?.base ?? standing;
    if (value === base || (value === standing && !sentBack)) continue;
    typed[name] = { value, base };
    hasWords ||= isWords(field);
  }
  return hasWords ? typed : null;
}

/** Put back what was typed: which words came back, and which of them stand on something else than before. */
export function putBack(form, entry) {
  const back = [];
  const fields = fieldsOf(form);
  for (const [name, { value, base }] of Object.entries(entry.fields)) {
    const field = fields.get(name);
    if (!field) continue;
    const standing = standingOf(field);
    if (standing === value && !isSentBack(form)) continue;
    if (isWords(field)) back.push({ field, standing, isMoved: standing !== base && standing !== value, isNew: valueOf(field) !== value });
    fill(field, value);
  }
  return back;
}

export function dropTyped(form) {
  for (const field of fieldsOf(form).values()) fill(field, standingOf(field));
}
