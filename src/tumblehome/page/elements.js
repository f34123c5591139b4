// What a page is made of: its elements, its colors, the marks of the verdicts.

const SVG = "http://www.w3.org/2000/svg";
const byId = (id) => document.getElementById(id);
const style = getComputedStyle(document.documentElement);
const colorOf = (name) => rgb(style.getPropertyValue(`--${name}`).trim());
const colors = { air: colorOf("air"), ink: colorOf("ink"), steel: colorOf("steel"), accent: colorOf("accent"), recessEdge: colorOf("recess-edge") };

function made(name, properties = {}, ...children) {
  const result = Object.assign(document.createElement(name), properties);
  result.append(...children);
  return result;
}

function marked(verdict) {
  const mark = element("svg", { "aria-hidden": "true" });
  mark.append(element("use", { href: `#mark-${verdict}` }));
  return made("span", { className: `told ${verdict}` }, mark, verdict);
}

function element(name, attributes = {}, text = "") {
  const made = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
  if (text !== "") made.textContent = text;
  return made;
}

function overlap(a, b) {
  return a[0] < b[2] && b[0] < a[2] && a[1] < b[3] && b[1] < a[3];
}
