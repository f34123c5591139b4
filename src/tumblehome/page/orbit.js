// How the picture in the round is handled: its views, pointer, fingers and keys, where it is cut, and the names in it.

const VIEWS = {
  corner: { turn: 61, rise: 28, cut: "none", hides: ["roof", "near"] },
  above: { turn: -90, rise: 89.9, cut: "height", hides: ["roof", "near"] },
  doorway: { turn: 0, rise: 0, cut: "none", hides: ["near"], lens: 52 },
  "left side": { turn: 90, rise: 6, cut: "half", hides: ["roof", "near"] },
  "right side": { turn: -90, rise: 6, cut: "half", hides: ["roof", "near"] },
};
const TOGGLES = { roof: "roof", near: "near wall", module: "modules", member: "members", shell: "lining", names: "names" };
const calm = window.matchMedia("(prefers-reduced-motion: reduce)");

class Orbit {
  // `page` answers where() with the height and station that are asked about, names() with the modules' names, and is told of
  // viewed(name or ""), cutBy(word), hides(key, yes), picked(mesh or null), and of a height(mm) that a view is best cut at.
  constructor(round, tags, page) {
    Object.assign(this, { round, tags, page, cut: "none", journey: 0, hasBegun: false, view: "" });
    this.listen();
  }

  // The plane that cuts, by its outward normal and how far out it lies; along the middle the viewer's half is taken away.
  plane(cut, camera) {
    const [height, station] = this.page.where();
    if (cut === "height") return [0, 0, 1, height];
    if (cut === "station") return [1, 0, 0, station];
    return cut === "half" ? [0, camera.eye()[1] > 0 ? 1 : -1, 0, 0] : NO_CUT;
  }

  setCut(cut) {
    this.cut = cut;
    this.page.cutBy(cut);
    this.round.cut = this.plane(cut, this.round.camera);
    this.round.draw();
  }

  look(name) {
    const { round, page } = this;
    const view = VIEWS[name];
    const { low, high } = round.told;
    for (const key of ["roof", "near"]) this.setHidden(key, view.hides.includes(key));
    if (name === "above") page.height(low[2] + 0.66 * (high[2] - low[2]));
    page.viewed(name);
    this.travel(this.framed(name, view.cut), () => {
      this.view = name;
      this.setCut(view.cut);
      this.reframe();
    });
  }

  // The camera of a view that sees all that is there, in a picture of the proportions that it has now.
  framed(name, cut) {
    const { round } = this;
    const { turn, rise, lens = 26 } = VIEWS[name];
    const { low, high, side } = round.told;
    const goal = Object.assign(new Camera(), { turn, rise, lens, target: [...round.center] });
    this.aspect = round.aspect();
    if (name === "corner") goal.turn = side * (this.aspect < 1.25 ? 42 : turn);
    if (name === "doorway") goal.away = goal.distance([high[0], low[1], low[2]], high, this.aspect);
    else round.frame(goal, this.plane(cut, goal));
    return goal;
  }

  // See the same view whole again when the picture has other proportions, unless somebody has turned it since.
  reframe() {
    if (!this.view || this.aspect === this.round.aspect()) return;
    Object.assign(this.round.camera, this.framed(this.view, this.cut));
    this.round.draw();
  }

  travel(goal, ready) {
    const { round } = this;
    this.view = "";
    const from = { ...round.camera, target: [...round.camera.target] };
    const turn = ((((goal.turn - from.turn) % 360) + 540) % 360) - 180;
    const start = performance.now();
    const last = calm.matches || !this.hasBegun ? 0 : 420;
    this.hasBegun = true;
    const key = ++this.journey;
    const step = (now) => {
      if (key !== this.journey) return;
      const t = last ? clamp((now - start) / last, 0, 1) : 1;
      const s = t * t * (3 - 2 * t);
      Object.assign(round.camera, {
        turn: from.turn + turn * s,
        rise: from.rise + (goal.rise - from.rise) * s,
        away: from.away + (goal.away - from.away) * s,
        lens: from.lens + (goal.lens - from.lens) * s,
        target: mixed(from.target, goal.target, s),
      });
      round.draw();
      if (t < 1) requestAnimationFrame(step);
      else ready();
    };
    step(start);
  }

  moved(change) {
    this.journey++;
    this.view = "";
    this.page.viewed("");
    change(this.round.camera);
    if (this.cut === "half") this.setCut("half");
    this.round.draw();
  }

  turnBy(across, up) {
    this.moved((camera) => {
      camera.turn -= across;
      camera.rise = clamp(camera.rise + up, -30, 89.9);
    });
  }

  zoomBy(share) {
    this.moved((camera) => { camera.away = clamp(camera.away * share, 700, 6 * this.round.reach); });
  }

  panBy(x, y) {
    this.moved((camera) => {
      const { right, up } = camera.axes();
      const mm = (2 * camera.away * Math.tan((camera.lens * RADIANS) / 2)) / this.round.canvas.clientHeight;
      camera.target = add(camera.target, add(times(right, -x * mm), times(up, y * mm)));
    });
  }

  setHidden(key, hides) {
    this.round.hides[key] = hides;
    this.page.hides(key, hides);
    this.round.draw();
  }

  // Names stand where a thing is seen, none on another; first of all the chosen thing's.
  places() {
    const { round } = this;
    if (round.hides.names) return [];
    const meshes = round.visible();
    const found = [];
    const names = this.page.names();
    const order = names.map((_, i) => i).sort((a, b) => (b === round.chosen) - (a === round.chosen));
    for (const i of order) {
      const box = this.tagPlace(i, names[i], meshes, found.map((each) => each.box));
      if (box) found.push({ box, name: names[i], isChosen: i === round.chosen });
    }
    return found;
  }

  showTags() {
    this.tags.replaceChildren(...this.places().map(({ box, name, isChosen }) => {
      const tag = Object.assign(document.createElement("span"), { textContent: name, className: isChosen ? "chosen" : "" });
      tag.style.transform = `translate(${box[0].toFixed(1)}px,${box[1].toFixed(1)}px)`;
      return tag;
    }));
  }

  tagPlace(i, name, meshes, taken) {
    const { round } = this;
    const mesh = meshes.find((each) => each.module === i);
    if (!mesh) return null;
    const wide = 7.6 * name.length + 8;
    const eye = round.camera.eye();
    const [most, tallest] = round.extent();
    for (const [fx, fy, fz] of [[0.5, 0.5, 0.5], [0.5, 0.5, 0.8], [0.25, 0.5, 0.6], [0.75, 0.5, 0.6], [0.5, 0.2, 0.5], [0.5, 0.8, 0.5]]) {
      const point = [0, 1, 2].map((k) => mesh.low[k] + [fx, fy, fz][k] * (mesh.high[k] - mesh.low[k]));
      const [x, y] = round.placed(point);
      const box = [x - wide / 2, y - 9, x + wide / 2, y + 9];
      const inside = box[0] > 2 && box[1] > 2 && box[2] < most - 2 && box[3] < tallest - 2;
      if (!inside || taken.some((other) => overlap(box, other))) continue;
      const seen = round.along(eye, minus(point, eye), meshes);
      if (seen && seen.mesh === mesh) return box;
    }
    return null;
  }

  listen() {
    const { canvas } = this.round;
    const fingers = new Map();
    let pressed = null;
    canvas.addEventListener("pointerdown", (event) => {
      canvas.setPointerCapture(event.pointerId);
      fingers.set(event.pointerId, [event.clientX, event.clientY]);
      pressed = fingers.size === 1 ? { x: event.clientX, y: event.clientY, still: true } : null;
      canvas.classList.add("grabbed");
    });
    canvas.addEventListener("pointermove", (event) => {
      const before = fingers.get(event.pointerId);
      if (!before) return;
      const now = [event.clientX, event.clientY];
      const [dx, dy] = [now[0] - before[0], now[1] - before[1]];
      if (pressed && Math.hypot(now[0] - pressed.x, now[1] - pressed.y) > 5) pressed.still = false;
      if (fingers.size === 2) pinch(event.pointerId, before, now);
      else if (!pressed || pressed.still) return;
      else if (event.shiftKey || event.buttons & 6) this.panBy(dx, dy);
      else this.turnBy(dx * 0.35, dy * 0.3);
      fingers.set(event.pointerId, now);
    });
    const pinch = (moving, before, now) => {
      const other = [...fingers].find(([id]) => id !== moving)[1];
      const gap = (a) => Math.max(Math.hypot(a[0] - other[0], a[1] - other[1]), 1);
      this.zoomBy(gap(before) / gap(now));
      this.panBy((now[0] - before[0]) / 2, (now[1] - before[1]) / 2);
    };
    const lifted = (event) => {
      fingers.delete(event.pointerId);
      canvas.classList.toggle("grabbed", fingers.size > 0);
      if (event.type === "pointerup" && pressed && pressed.still) this.tapped(event);
      pressed = null;
    };
    canvas.addEventListener("pointerup", lifted);
    canvas.addEventListener("pointercancel", lifted);
    canvas.addEventListener("contextmenu", (event) => event.preventDefault());
    canvas.addEventListener("wheel", (event) => {
      event.preventDefault();
      this.zoomBy(Math.exp(clamp(event.deltaY, -240, 240) * 0.0012));
    }, { passive: false });
    canvas.addEventListener("keydown", (event) => this.pressedKey(event));
  }

  tapped(event) {
    const box = this.round.canvas.getBoundingClientRect();
    const hit = this.round.at((2 * (event.clientX - box.left)) / box.width - 1, 1 - (2 * (event.clientY - box.top)) / box.height);
    this.page.picked(hit ? hit.mesh : null);
  }

  pressedKey(event) {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const names = Object.keys(VIEWS);
    const arrow = { ArrowLeft: [1, 0], ArrowRight: [-1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] }[event.key];
    if (arrow && event.shiftKey) this.panBy(arrow[0] * 24, arrow[1] * 24);
    else if (arrow) this.turnBy(arrow[0] * 5, arrow[1] * 5);
    else if (event.key === "+" || event.key === "=") this.zoomBy(0.9);
    else if (event.key === "-") this.zoomBy(1 / 0.9);
    else if (names[event.key - 1]) this.look(names[event.key - 1]);
    else if (event.key === "Escape") this.page.picked(null);
    else return;
    event.preventDefault();
  }
}
