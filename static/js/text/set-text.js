/* Draw blocks of text as SVG in mm of the trim, each line as wide as the server broke it. */
const SVG = "http://www.w3.org/2000/svg";

export function svg(name, attributes = {}, ...children) {
  const made = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, String(value));
  made.append(...children);
  return made;
}

export function textOf({ face, size, colour, language, lines }) {
  const spans = lines.map(({ words, x, y, width }) =>
    svg("tspan", { x, y, textLength: width, lengthAdjust: "spacingAndGlyphs" }, words));
  return svg("text", { class: `face-${face}`, lang: language, "font-size": size, fill: colour }, ...spans);
}

/** A layer of text to lie over a picture, stretched as the picture lies on its page, and askew where a sheet is. */
export function textLayer({ view, blocks }, turn = null) {
  const group = svg("g", { class: "set-text" }, ...blocks.map(textOf));
  if (turn) group.setAttribute("transform", `rotate(${turn[0]} ${view[0] + turn[1] * view[2]} ${view[1] + turn[2] * view[3]})`);
  return svg("svg", { viewBox: view.join(" "), preserveAspectRatio: "none", "aria-hidden": "true" }, group);
}
