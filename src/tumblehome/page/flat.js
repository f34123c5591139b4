// A plan or a cross-section at one step of its slider, in mm of the van.

const LARGEST = 12.5; // pixels of a letter
const LINED = new Set(["air", "module", "member", "behind"]); // what has outlines that a value would hide

// The points of a path whose steps are relative, one list a ring.
function linesOf(path) {
  return path.split("M").slice(1).map((ring) => {
    const [x, y, ...steps] = ring.match(/-?\d+/g).map(Number);
    const points = [[x, y]];
    for (let i = 0; i < steps.length; i += 2) points.push([points.at(-1)[0] + steps[i], points.at(-1)[1] + steps[i + 1]]);
    return [...points, points[0]];
  });
}

class Flat {
  // isPlan says which way it lies; onChoose is called with the name of what was tapped.
  constructor(svg, told, isPlan, onChoose) {
    Object.assign(this, { svg, isPlan });
    this.names = told.names;
    this.drawings = isPlan ? told.plans : told.sections;
    this.box = told.boxes[isPlan ? 0 : 1];
    this.letters = told.letters[isPlan ? 0 : 1];
    const pad = this.letters;
    const [left, top, right, bottom] = this.box;
    this.frame = [left - 3.1 * pad, top - 0.7 * pad, right + 0.7 * pad, bottom + 1.9 * pad];
    const [x0, y0, x1, y1] = this.frame;
    svg.setAttribute("viewBox", `${x0} ${y0} ${x1 - x0} ${y1 - y0}`);
    svg.addEventListener("click", (event) => {
      const name = event.target.getAttribute && event.target.getAttribute("data-name");
      if (name !== null && name !== undefined) onChoose(name);
    });
  }

  // Letters are as large as names were given room for, on a wide page smaller.
  size() {
    const scale = this.svg.clientWidth / (this.frame[2] - this.frame[0]);
    const tall = this.svg.clientHeight / (this.frame[3] - this.frame[1]);
    return Math.min(this.letters, LARGEST / Math.max(Math.min(scale, tall || scale), 1e-3));
  }

  draw(step, unit, span, chosen) {
    const drawing = this.drawings[step];
    const size = this.size();
    const parts = [this.rules(unit, size)];
    for (const [kind, name, path] of drawing.a) {
      const isModule = kind === "module";
      const shape = element("path", { class: isModule && this.names[name] === chosen ? "module chosen" : kind, d: path });
      if (isModule) shape.setAttribute("data-name", this.names[name]);
      if (name >= 0) shape.append(element("title", {}, this.names[name]));
      parts.push(shape);
    }
    const tags = drawing.n.filter((tag) => size <= tag[2] * this.letters * 1.02);
    const taken = tags.map((tag) => boxOf(tag[0], tag[1], tag[3], size));
    drawing.outlines ??= drawing.a.filter(([kind]) => LINED.has(kind)).flatMap(([, , path]) => linesOf(path));
    const said = this.span(span, size, { outlines: drawing.outlines, taken });
    parts.push(said.group);
    parts.push(...tags.filter((_, i) => !said.box || !overlap(taken[i], said.box)).map((tag) => nameAt(tag, size)));
    for (const [x, y, verdict] of drawing.m) {
      const side = 1.5 * size;
      parts.push(element("use", { href: `#mark-${verdict}`, class: verdict, x: x - side / 2, y: y - side / 2, width: side, height: side }));
    }
    this.svg.replaceChildren(...parts);
  }

  // The net behind the drawing: every 200 mm or 6 in, heavier each 1000 mm or 3 ft, scales up the left edge and along the base.
  rules(unit, size) {
    const group = element("g");
    const [step, heavy] = unit ? [152.4, 6] : [200, 5];
    const [x0, y0, x1, y1] = this.box.map((v, i) => v + (i < 2 ? -0.4 : 0.4) * this.letters);
    const label = (n, mirrored) => (unit ? `${(mirrored ? Math.abs(n) : n) * 6}"` : `${(mirrored ? Math.abs(n) : n) * 200}`);
    const look = (n, mirrored) => `line rule${n % heavy === 0 ? " heavy" : ""}${mirrored && n === 0 ? " center" : ""}`;
    for (let n = Math.ceil(x0 / step); n * step <= x1; n++) {
      group.append(element("path", { class: look(n, !this.isPlan), d: `M${n * step} ${y0}V${y1}` }));
      const told = this.isPlan ? n % (unit ? 6 : 5) === 0 : n % 2 === 0;
      if (told) group.append(element("text", { class: "scale", x: n * step, y: y1 + 1.15 * size, "font-size": 0.88 * size, "text-anchor": "middle" }, label(n, !this.isPlan)));
    }
    for (let n = Math.ceil(-y1 / step); n * step <= -y0; n++) {
      group.append(element("path", { class: look(n, this.isPlan), d: `M${x0} ${-n * step}H${x1}` }));
      if (n % 2 === 0) group.append(element("text", { class: "scale", x: x0 - 0.35 * size, y: -n * step + 0.32 * size, "font-size": 0.88 * size, "text-anchor": "end" }, label(n, this.isPlan)));
    }
    return group;
  }

  // Where the other slider stands, and the free width there as a dimension with slanted ticks.
  span({ at, left, right, text }, size, about) {
    const group = element("g");
    const [x0, y0, x1, y1] = this.box;
    group.append(element("path", { class: "line asked", d: this.isPlan ? `M${at} ${y0 - 0.4 * size}V${y1 + 0.4 * size}` : `M${x0 - 0.4 * size} ${-at}H${x1 + 0.4 * size}` }));
    if (!text) return { group, box: null };
    const place = (breadth) => (this.isPlan ? [at, -breadth] : [breadth, -at]);
    const [a, b] = [place(-left), place(right)];
    const tick = 0.42 * size;
    const ticks = [a, b].map(([x, y]) => `M${x - tick} ${y + tick}l${2 * tick} ${-2 * tick}`).join("");
    group.append(element("path", { class: "line span", d: `M${a}L${b}${ticks}` }));
    const box = freest([a, b], [(0.64 * text.length + 0.5) * size, 1.44 * size], { left: x0, right: x1, ...about });
    const [x, y] = [(box[0] + box[2]) / 2, (box[1] + box[3]) / 2];
    group.append(element("rect", { class: "patch", x: box[0], y: box[1], width: box[2] - box[0], height: box[3] - box[1] }));
    group.append(element("text", { class: "name", x, y: y + 0.36 * size, "font-size": size, "font-weight": "bold" }, text));
    return { group, box };
  }
}

function boxOf(x, y, lines, size) {
  const wide = 0.62 * size * Math.max(...lines.map((line) => line.length));
  const tall = 1.15 * size * lines.length;
  return [x - wide / 2, y - tall / 2, x + wide / 2, y + tall / 2];
}

function nameAt([x, y, , lines], size) {
  const text = element("text", { class: "name on", "font-size": size, "stroke-width": 0.35 * size });
  lines.forEach((line, i) => {
    text.append(element("tspan", { x, y: y + (i - (lines.length - 1) / 2) * 1.15 * size + 0.36 * size }, line));
  });
  return text;
}
