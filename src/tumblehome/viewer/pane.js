// A plan or a cross-section on the page: the drawing as the files have it, and over it what is asked about and taken hold of.

const STILL = 4; // pixels that a pointer may tremble without dragging
const LINED = ["air", "module", "member", "ghost", "dimension"].map((layer) => `[data-layer=${layer}] path`).join(); // what has outlines that a value would hide

// The points of a path of straight lines, one list a line.
function linesOf(d) {
  return d.split("M").slice(1).map((line) => {
    const points = line.replace("Z", "").split(" ").map((pair) => pair.split(",").map(Number));
    return line.endsWith("Z") ? [...points, points[0]] : points;
  });
}

class Pane {
  // `keys` are the names of the van's two coordinates that lie across and up this pane, of "xyz".
  // `page` is told of read(pane, place), chosen(name), dragged(pane, name, low corner, drag), dropped(pane, name, kept, drag),
  // nudged(key, steps, far).
  constructor(root, axis, keys, page) {
    Object.assign(this, { root, axis, keys, page, drawing: null, sized: null, asked: null, held: null, touched: null, refused: "" });
    this.sheet = element("svg", { class: "under", "aria-hidden": "true" });
    this.over = element("svg", { class: "over" });
    this.words = element("svg", { class: "words", "aria-hidden": "true" });
    this.here = root.querySelector(".told-here");
    root.prepend(this.sheet, this.over, this.words);
    root.addEventListener("pointerdown", (event) => this.press(event));
    root.addEventListener("touchstart", (event) => { if (this.held) event.preventDefault(); }, { passive: false }); // the page stays
    root.addEventListener("pointermove", (event) => this.point(event));
    root.addEventListener("pointerup", (event) => this.lift(event, true));
    root.addEventListener("pointercancel", (event) => this.lift(event, false));
    root.addEventListener("pointerleave", () => { this.here.hidden = true; });
    root.addEventListener("keydown", (event) => this.key(event));
  }

  // Words beside the pointer; those of a drag at the edge that is farther from it, off what is dragged.
  tell(words) {
    const { here, root, at, held } = this;
    here.replaceChildren(...words.map((line) => made("div", {}, line)));
    here.hidden = !at || !words.length;
    if (here.hidden) return;
    const room = [root.clientWidth - here.offsetWidth - 2, root.clientHeight - here.offsetHeight - 2];
    if (held && held.moving) {
      here.style.transform = `translate(${clamp(at[0] - here.offsetWidth / 2, 2, room[0])}px,${at[1] > root.clientHeight / 2 ? 2 : room[1]}px)`;
      return;
    }
    const beyond = [at[0] + 16 > room[0] ? at[0] - here.offsetWidth - 12 : at[0] + 16, at[1] + 16 > room[1] ? at[1] - here.offsetHeight - 12 : at[1] + 16];
    here.style.transform = `translate(${clamp(beyond[0], 2, room[0])}px,${clamp(beyond[1], 2, room[1])}px)`;
  }

  size() {
    return { wide: this.root.clientWidth, tall: this.root.clientHeight };
  }

  // Whether a drawing was asked for of the size that it has now.
  isSized() {
    const { wide, tall } = this.size();
    return Boolean(this.sized) && this.sized.wide === wide && this.sized.tall === tall;
  }

  show(drawing) {
    this.drawing = drawing;
    const read = new DOMParser().parseFromString(drawing.svg, "image/svg+xml").documentElement;
    for (const named of read.querySelectorAll("g[id]")) named.removeAttribute("id");
    read.removeAttribute("width");
    read.removeAttribute("height");
    read.setAttribute("class", "under");
    read.setAttribute("aria-hidden", "true");
    this.sheet.replaceWith(read);
    this.sheet = read;
    for (const each of [this.over, this.words]) each.setAttribute("viewBox", read.getAttribute("viewBox"));
    this.words.setAttribute("font-family", read.getAttribute("font-family"));
    this.words.replaceChildren(...read.querySelectorAll("g > rect, g > text"));
    this.outlines = [...read.querySelectorAll(LINED)].flatMap((path) => linesOf(path.getAttribute("d")));
    this.cover();
  }

  // Everything over the drawing: what can be taken hold of, and the width that is asked about.
  cover() {
    if (!this.drawing) return;
    const parts = this.drawing.things.map(([kind, name, d]) => {
      const shape = element("path", { class: `${kind}${name === this.page.chosenName() ? " chosen" : ""}`, d, "data-name": name });
      shape.append(element("title", {}, name));
      return shape;
    });
    this.over.replaceChildren(...parts, ...this.span(), ...this.ghost());
  }

  // The other cut, dashed, and the free width along it with its value, where no word of the drawing stands.
  span() {
    if (!this.asked) return [];
    const { at, breadths, words } = this.asked;
    const { frame } = this.drawing;
    const [x, y] = this.onPaper(this.axis === 2 ? [at, 0] : [0, at]);
    const whole = this.axis === 2 ? [[x, frame[1]], [x, frame[3]]] : [[frame[0], y], [frame[2], y]];
    const line = element("path", { class: "asked", d: this.beside(...whole) });
    if (!breadths) return [line];
    const ends = breadths.map((breadth) => this.onPaper(this.axis === 2 ? [at, breadth] : [breadth, at]));
    const ticks = ends.map(([a, b]) => `M${a - 1} ${b + 1}l2-2`).join("");
    const text = this.value(words, ends);
    return [line, element("path", { class: "span", d: `${this.beside(...ends)}${ticks}` }), ...text];
  }

  // A line along one of the two axes, interrupted where words stand.
  beside(from, to) {
    const along = this.axis === 2 ? 1 : 0;
    const across = 1 - along;
    const [low, high] = [Math.min(from[along], to[along]), Math.max(from[along], to[along])];
    const words = this.drawing.taken.filter((box) => box[across] < from[across] && from[across] < box[across + 2]).map((box) => [box[along], box[along + 2]]);
    const cuts = words.sort((a, b) => a[0] - b[0]);
    const place = (v) => (along ? `${from[0]} ${v}` : `${v} ${from[1]}`);
    let [d, at] = ["", low];
    for (const [start, end] of [...cuts, [high, high]]) {
      if (Math.min(start, high) > at) d += `M${place(at)}L${place(Math.min(start, high))}`;
      at = Math.max(at, end);
    }
    return d;
  }

  value(words, ends) {
    const size = 3.2;
    const [left, , right] = this.drawing.frame;
    const [wide, tall] = [0.66 * size * words.length + 1.2, 1.3 * size];
    const { outlines, drawing: { taken } } = this;
    const box = freest(ends, [wide, tall], { left, right, outlines, taken });
    if (taken.some((other) => overlap(box, other))) this.hush(box);
    const patch = element("rect", { class: "patch", x: box[0], y: box[1], width: wide, height: tall });
    return [patch, element("text", { class: "value", x: (box[0] + box[2]) / 2, y: (box[1] + box[3]) / 2 + 0.36 * size, "font-size": size }, words)];
  }

  // Words of the drawing that the value would stand on give way to it.
  hush(box) {
    const { a: dots, e, f } = this.over.getScreenCTM();
    const seen = box.map((v, i) => v * dots + (i % 2 ? f : e));
    for (const word of this.words.querySelectorAll("text")) {
      const { left, top, right, bottom } = word.getBoundingClientRect();
      if (overlap(seen, [left, top, right, bottom])) word.setAttribute("visibility", "hidden");
    }
  }

  ghost() {
    if (!this.held || !this.held.moving) return [];
    const [dx, dy] = this.held.shift;
    return [element("path", { class: "ghost", d: this.held.outline, transform: `translate(${dx} ${dy})` })];
  }

  ask(asked) {
    for (const word of this.words.querySelectorAll('text[visibility="hidden"]')) word.removeAttribute("visibility");
    this.asked = asked;
    this.cover();
  }

  // ---- where things lie ----

  onPaper([across, up]) {
    const { origin, scale } = this.drawing;
    return [origin[0] + across / scale, origin[1] - up / scale];
  }

  dots() {
    const { size } = this.drawing;
    return Math.min(this.root.clientWidth / size[0], this.root.clientHeight / size[1]);
  }

  // The place of the van under the pointer, and the same in millimeters of paper.
  under(event) {
    const { origin, scale, size } = this.drawing;
    const box = this.root.getBoundingClientRect();
    const dots = this.dots();
    const x = (event.clientX - box.left - (box.width - size[0] * dots) / 2) / dots;
    const y = (event.clientY - box.top - (box.height - size[1] * dots) / 2) / dots;
    return { paper: [x, y], place: [(x - origin[0]) * scale, -(y - origin[1]) * scale] };
  }

  // ---- taking hold ----

  isHeld(drag) { return Boolean(this.held && this.held.drag === drag); }

  // A finger chooses by a tap and drags only what is chosen: one that scrolls the page takes nothing along.
  press(event) {
    if (!this.drawing || event.button > 0) return;
    const thing = event.target.closest ? event.target.closest("[data-name]") : null;
    if (!thing) return;
    const name = thing.getAttribute("data-name");
    const module = this.page.module(name);
    const choice = [name, thing.getAttribute("class").split(" ")[0]];
    this.touched = event.pointerType === "touch" && name !== this.page.chosenName() ? choice : null;
    if (this.touched) return;
    this.page.chosen(...choice);
    if (!module || !this.page.canChange()) return;
    this.root.setPointerCapture(event.pointerId);
    const { paper, place } = this.under(event);
    this.refused = "";
    this.held = { name, paper, place, low: [...module.low], outline: thing.getAttribute("d"), moving: false, drag: `${Math.random()}`, shift: [0, 0], from: [event.clientX, event.clientY] };
  }

  point(event) {
    if (!this.drawing) return;
    const { paper, place } = this.under(event);
    const { held } = this;
    const box = this.root.getBoundingClientRect();
    this.at = [event.clientX - box.left, event.clientY - box.top];
    if (!held || !held.moving) this.page.read(this, place);
    if (!held) return;
    if (!held.moving && Math.hypot(event.clientX - held.from[0], event.clientY - held.from[1]) <= STILL) return;
    held.moving = true;
    held.shift = [paper[0] - held.paper[0], paper[1] - held.paper[1]];
    this.root.classList.add("dragging");
    const at = [...held.low];
    [...this.keys].forEach((key, i) => { at["xyz".indexOf(key)] += place[i] - held.place[i]; });
    this.page.dragged(this, held.name, at, held.drag);
    this.cover();
  }

  lift(event, kept) {
    const { held, touched } = this;
    Object.assign(this, { held: null, touched: null });
    if (touched && kept) this.page.chosen(...touched);
    this.root.classList.remove("dragging");
    if (held && held.moving) this.page.dropped(this, held.name, kept, held.drag);
    this.cover();
  }

  key(event) {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const arrow = { ArrowLeft: [0, -1], ArrowRight: [0, 1], ArrowDown: [1, -1], ArrowUp: [1, 1] }[event.key];
    if (event.key === "Escape" && this.held) this.lift(event, false);
    else if (event.key === "Escape") this.page.chosen("", "");
    else if (arrow) this.page.nudged(this.keys[arrow[0]], arrow[1], event.shiftKey);
    else return;
    event.preventDefault();
  }
}
