/* The keys that work on the earlier version, folded away until somebody looks for them. */
const KEYS = "Keys, while the picture has the focus: T lays the earlier version down and lifts it, [ and ] make it fainter and stronger, the comma pulls it back and the full stop lets it out, N and P go to the next place and the one before.";

export function foldedKeys() {
  const fold = document.createElement("details");
  fold.className = "more keys";
  const [summary, keys] = ["summary", "p"].map((name) => document.createElement(name));
  summary.textContent = "Keys for the earlier version";
  keys.className = "small";
  keys.textContent = KEYS;
  fold.append(summary, keys);
  return fold;
}
