// What the visitor chose, and everything that follows from it.

const told = JSON.parse(document.getElementById("data").textContent);
const byId = (id) => document.getElementById(id);
const style = getComputedStyle(document.documentElement);
const colorOf = (name) => rgb(style.getPropertyValue(`--${name}`).trim());
const colors = { air: colorOf("air"), ink: colorOf("ink"), steel: colorOf("steel"), accent: colorOf("accent"), recessEdge: colorOf("recess-edge") };
const calm = window.matchMedia("(prefers-reduced-motion: reduce)");

const tables = {};
for (const key of ["bare", "fitted"]) {
  tables[key] = Object.fromEntries(Object.entries(told.widths[key]).map(([name, text]) => [name, unpacked(text, Uint16Array)]));
}

const nearestStep = (axis, mm) => axis.at.reduce((best, v, i) => (Math.abs(v - mm) < Math.abs(axis.at[best] - mm) ? i : best), 0);
const state = {
  unit: told.units === "in" ? 1 : 0,
  height: told.begin[0],
  station: told.begin[1],
  chosen: -1,
  cut: "none",
};

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

// ---- the numbers at the crossing of the two sliders ----

function crossing(key) {
  const table = tables[key];
  const i = state.height * told.stations.at.length + state.station;
  const text = (name) => (table[name][i] === 65535 ? null : told.pool[table[name][i]]);
  const why = (name) => told.widths.names[table[name][i]];
  return { usable: text("usable"), left: text("left"), right: text("right"), whyLeft: why("why_left"), whyRight: why("why_right") };
}

function showWidth(id, key, words) {
  const found = crossing(key);
  const u = state.unit;
  const parts = found.usable
    ? [`${words}: `, made("b", {}, found.usable[u]), `; left ${found.left[u]} to ${found.whyLeft}, right ${found.right[u]} to ${found.whyRight}.`]
    : [`${words}: `, made("b", {}, "none"), `; on the centerline stands ${found.whyLeft}.`];
  byId(id).replaceChildren(...parts);
  return found;
}

function showWhere() {
  const u = state.unit;
  for (const key of ["height", "station"]) {
    const axis = told[`${key}s`];
    const words = told.pool[axis.words[state[key]]][u];
    byId(key).value = state[key];
    byId(key).setAttribute("aria-valuetext", words);
    byId(`${key}-shown`).textContent = words;
  }
  const height = told.pool[told.heights.words[state.height]][u];
  const station = told.pool[told.stations.words[state.station]][u];
  byId("section-title").textContent = `Station ${station}`;
  byId("plan-title").textContent = `Plan at height ${height}`;
  const fitted = showWidth("fitted", "fitted", "Free between the furniture");
  showWidth("bare", "bare", "The empty van");
  const mm = (text) => parseFloat(text[0]);
  const measured = (at) => (fitted.usable ? { at, left: mm(fitted.left), right: mm(fitted.right), text: fitted.usable[u] } : { at });
  const chosen = state.chosen < 0 ? null : told.modules[state.chosen].name;
  section.draw(state.station, u, measured(told.heights.at[state.height]), chosen);
  plan.draw(state.height, u, measured(told.stations.at[state.station]), chosen);
}

// ---- modules and findings ----

function detailOf(module) {
  const u = state.unit;
  const parts = module.facts.map((fact) => made("p", {}, fact[u]));
  if (module.told.length) {
    parts.push(made("h3", {}, "What its place gives it"), made("ul", { className: "gains" }, ...module.told.map((s) => made("li", {}, s[u]))));
  }
  if (module.findings.length) {
    const rows = module.findings.map(([verdict, question, words]) => made("li", {}, marked(verdict), made("span", {}, `${question}: ${words[u]}`)));
    parts.push(made("h3", {}, "What was found about it"), made("ul", {}, ...rows));
  }
  return made("div", { className: "detail" }, ...parts);
}

function showThings() {
  byId("things").replaceChildren(...told.modules.map((module, i) => {
    const open = i === state.chosen;
    const fold = element("svg", { class: "fold", "aria-hidden": "true" });
    fold.append(element("use", { href: "#mark-fold" }));
    const button = made("button", { type: "button", id: `thing-${i}` }, made("span", {}, module.name), marked(module.verdict), fold);
    button.setAttribute("aria-expanded", open);
    button.addEventListener("click", () => choose(open ? -1 : i, false, true));
    return made("li", { className: open ? "open" : "" }, button, ...(open ? [detailOf(module)] : []));
  }));
}

// What was chosen, in short, under the picture; while nothing is, how to handle the picture.
function showCard() {
  const u = state.unit;
  if (state.chosen < 0) {
    const help = "Drag to turn, pinch or scroll to come nearer, two fingers or Shift to move. Tap a thing to learn about it.";
    byId("card").replaceChildren(made("p", { className: "quiet" }, help));
    return;
  }
  const module = told.modules[state.chosen];
  const more = made("button", { type: "button" }, "all about it");
  more.addEventListener("click", () => choose(state.chosen, true, true));
  const [verdict, question, words] = module.findings[0] || ["clear", "", ["", ""]];
  const found = verdict !== "clear" ? [made("p", { className: verdict }, `${question}: ${words[u]}`)] : [];
  const lines = [module.facts[0], ...module.told.slice(0, 1)].map((text) => text[u]);
  byId("card").replaceChildren(
    made("div", { className: "head" }, made("b", {}, module.name), marked(module.verdict), more),
    made("p", {}, lines.join(". ").replace("..", ".")), ...found,
  );
}

function showFound() {
  const all = told.modules.flatMap((module, i) => module.findings.map((finding) => [i, ...finding]));
  const count = (verdict) => all.filter((finding) => finding[1] === verdict).length;
  byId("found-sum").textContent = `${all.length} questions were asked: ${count("clear")} clear, ${count("tight")} tight, ${count("fouls")} fouls.`;
  const telling = ["fouls", "tight"].flatMap((verdict) => all.filter((finding) => finding[1] === verdict));
  byId("found").replaceChildren(...telling.map(([i, verdict, question, words]) => {
    const button = made("button", { type: "button" }, told.modules[i].name);
    button.addEventListener("click", () => choose(i, true, true));
    return made("li", {}, marked(verdict), made("span", {}, button, `, ${question}: ${words[state.unit]}.`));
  }));
  if (!telling.length) byId("found").replaceChildren(made("li", {}, marked("clear"), "Everything fits, with room to spare."));
}

function choose(i, scroll, keepFocus) {
  state.chosen = i;
  showThings();
  showCard();
  showWhere();
  if (round) { round.chosen = i; round.draw(); }
  const button = i >= 0 ? byId(`thing-${i}`) : null;
  if (button && scroll) button.scrollIntoView({ block: "center", behavior: calm.matches ? "auto" : "smooth" });
  if (keepFocus) (button || byId(`thing-${Math.max(i, 0)}`)).focus({ preventScroll: true });
}

function showAll() {
  const worst = told.modules.filter((module) => module.verdict === told.verdict).length;
  byId("verdict").replaceChildren(marked(told.verdict), ` ${worst} of ${told.modules.length} modules`);
  byId("title").textContent = `${told.title}, ${told.van}`;
  byId("note").textContent = told.note;
  showThings();
  showCard();
  showFound();
  showWhere();
}

// ---- the picture in the round ----

const VIEWS = {
  corner: { turn: 61, rise: 28, cut: "none", hides: ["roof", "near"] },
  above: { turn: -90, rise: 89.9, cut: "height", hides: ["roof", "near"] },
  doorway: { turn: 0, rise: 0, cut: "none", hides: ["near"], lens: 52 },
  "left side": { turn: 90, rise: 6, cut: "half", hides: ["roof", "near"] },
  "right side": { turn: -90, rise: 6, cut: "half", hides: ["roof", "near"] },
};
const TOGGLES = { roof: "roof", near: "near wall", module: "modules", member: "members", shell: "lining", names: "names" };

// The plane that cuts, by its outward normal and how far out it lies; along the middle the viewer's half is taken away.
function cutFor(cut, camera) {
  if (cut === "height") return [0, 0, 1, told.heights.at[state.height]];
  if (cut === "station") return [1, 0, 0, told.stations.at[state.station]];
  return cut === "half" ? [0, camera.eye()[1] > 0 ? 1 : -1, 0, 0] : NO_CUT;
}

function setCut(cut) {
  state.cut = cut;
  byId("cut").value = cut;
  round.cut = cutFor(cut, round.camera);
  round.draw();
}

function look(name) {
  const view = VIEWS[name];
  const upright = round.aspect() < 1.25;
  const goal = new Camera();
  const { low, high, side } = told.round;
  for (const key of ["roof", "near"]) setHidden(key, view.hides.includes(key));
  Object.assign(goal, { turn: view.turn, rise: view.rise, lens: view.lens || 26, target: [...round.center] });
  if (name === "corner") goal.turn = side * (upright ? 42 : view.turn);
  if (name === "above") { state.height = nearestStep(told.heights, low[2] + 0.66 * (high[2] - low[2])); showWhere(); }
  if (name === "doorway") goal.away = goal.distance([high[0], low[1], low[2]], high, round.aspect());
  else round.frame(goal, cutFor(view.cut, goal));
  for (const button of byId("views").children) button.setAttribute("aria-pressed", button.textContent === name);
  travel(goal, () => setCut(view.cut));
}

function travel(goal, ready) {
  const from = { ...round.camera, target: [...round.camera.target] };
  const turn = ((((goal.turn - from.turn) % 360) + 540) % 360) - 180;
  const start = performance.now();
  const last = calm.matches || !travel.begun ? 0 : 420;
  travel.begun = true;
  const key = (travel.now = (travel.now || 0) + 1);
  const step = (now) => {
    if (key !== travel.now) return;
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

function moved(change) {
  travel.now = (travel.now || 0) + 1;
  for (const button of byId("views").children) button.setAttribute("aria-pressed", "false");
  change(round.camera);
  if (state.cut === "half") setCut("half");
  round.draw();
}

const turnBy = (across, up) => moved((camera) => {
  camera.turn -= across;
  camera.rise = clamp(camera.rise + up, -30, 89.9);
});
const zoomBy = (share) => moved((camera) => { camera.away = clamp(camera.away * share, 700, 6 * round.reach); });
const panBy = (x, y) => moved((camera) => {
  const { right, up } = camera.axes();
  const mm = (2 * camera.away * Math.tan((camera.lens * RADIANS) / 2)) / round.canvas.clientHeight;
  camera.target = add(camera.target, add(times(right, -x * mm), times(up, y * mm)));
});

function setHidden(key, hides) {
  round.hides[key] = hides;
  byId(`show-${key}`).checked = !hides;
  round.draw();
}

// Names stand where a thing is seen, none on another.
function showTags() {
  if (round.hides.names) return;
  const meshes = round.visible();
  const taken = [];
  const tags = [];
  const order = told.modules.map((_, i) => i).sort((a, b) => (b === state.chosen) - (a === state.chosen));
  for (const i of order) {
    const place = tagPlace(i, meshes, taken);
    if (!place) continue;
    taken.push(place.box);
    const tag = made("span", { textContent: told.modules[i].name, className: i === state.chosen ? "chosen" : "" });
    tag.style.transform = `translate(${place.box[0].toFixed(1)}px,${place.box[1].toFixed(1)}px)`;
    tags.push(tag);
  }
  byId("tags").replaceChildren(...tags);
}

function tagPlace(i, meshes, taken) {
  const mesh = meshes.find((each) => each.module === i);
  if (!mesh) return null;
  const wide = 7.6 * told.modules[i].name.length + 8;
  const eye = round.camera.eye();
  for (const [fx, fy, fz] of [[0.5, 0.5, 0.5], [0.5, 0.5, 0.8], [0.25, 0.5, 0.6], [0.75, 0.5, 0.6], [0.5, 0.2, 0.5], [0.5, 0.8, 0.5]]) {
    const point = [0, 1, 2].map((k) => mesh.low[k] + [fx, fy, fz][k] * (mesh.high[k] - mesh.low[k]));
    const [x, y] = round.placed(point);
    const box = [x - wide / 2, y - 9, x + wide / 2, y + 9];
    const inside = box[0] > 2 && box[1] > 2 && box[2] < round.canvas.clientWidth - 2 && box[3] < round.canvas.clientHeight - 2;
    if (!inside || taken.some((other) => overlap(box, other))) continue;
    const seen = round.along(eye, minus(point, eye), meshes);
    if (seen && seen.mesh === mesh) return { box };
  }
  return null;
}

function listen() {
  const canvas = round.canvas;
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
    else if (event.shiftKey || event.buttons & 6) panBy(dx, dy);
    else turnBy(dx * 0.35, dy * 0.3);
    fingers.set(event.pointerId, now);
  });
  const pinch = (moving, before, now) => {
    const other = [...fingers].find(([id]) => id !== moving)[1];
    const gap = (a) => Math.max(Math.hypot(a[0] - other[0], a[1] - other[1]), 1);
    zoomBy(gap(before) / gap(now));
    panBy((now[0] - before[0]) / 2, (now[1] - before[1]) / 2);
  };
  const lifted = (event) => {
    fingers.delete(event.pointerId);
    canvas.classList.toggle("grabbed", fingers.size > 0);
    if (event.type === "pointerup" && pressed && pressed.still) tapped(event);
    pressed = null;
  };
  canvas.addEventListener("pointerup", lifted);
  canvas.addEventListener("pointercancel", lifted);
  canvas.addEventListener("contextmenu", (event) => event.preventDefault());
  canvas.addEventListener("wheel", (event) => {
    event.preventDefault();
    zoomBy(Math.exp(clamp(event.deltaY, -240, 240) * 0.0012));
  }, { passive: false });
  canvas.addEventListener("keydown", pressedKey);
}

function tapped(event) {
  const box = round.canvas.getBoundingClientRect();
  const hit = round.at((2 * (event.clientX - box.left)) / box.width - 1, 1 - (2 * (event.clientY - box.top)) / box.height);
  choose(hit ? hit.mesh.module : -1, false, false);
}

function pressedKey(event) {
  if (event.ctrlKey || event.metaKey || event.altKey) return;
  const names = Object.keys(VIEWS);
  const arrow = { ArrowLeft: [1, 0], ArrowRight: [-1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] }[event.key];
  if (arrow && event.shiftKey) panBy(arrow[0] * 24, arrow[1] * 24);
  else if (arrow) turnBy(arrow[0] * 5, arrow[1] * 5);
  else if (event.key === "+" || event.key === "=") zoomBy(0.9);
  else if (event.key === "-") zoomBy(1 / 0.9);
  else if (names[event.key - 1]) look(names[event.key - 1]);
  else if (event.key === "Escape") choose(-1, false, false);
  else return;
  event.preventDefault();
}

// ---- begin ----

const onName = (name) => {
  const i = told.modules.findIndex((module) => module.name === name);
  choose(i === state.chosen ? -1 : i, false, false);
};
const section = new Flat(byId("section"), told.flat, false, onName);
const plan = new Flat(byId("plan"), told.flat, true, onName);
let round = null;

for (const key of ["height", "station"]) {
  byId(key).max = told[`${key}s`].at.length - 1;
  byId(key).addEventListener("input", (event) => {
    state[key] = Number(event.target.value);
    showWhere();
    if (round && state.cut === key) setCut(key);
  });
}
for (const [i, id] of ["units-mm", "units-in"].entries()) {
  byId(id).checked = state.unit === i;
  byId(id).addEventListener("change", () => { state.unit = i; showAll(); });
}

for (const name of Object.keys(VIEWS)) {
  const button = made("button", { type: "button", textContent: name });
  button.addEventListener("click", () => look(name));
  byId("views").append(button);
}
for (const [key, name] of Object.entries(TOGGLES)) {
  const box = made("input", { type: "checkbox", id: `show-${key}`, checked: true });
  box.addEventListener("change", () => setHidden(key, !box.checked));
  byId("toggles").append(made("label", {}, box, name));
}
byId("cut").addEventListener("change", (event) => setCut(event.target.value));

try {
  round = new Round(byId("round"), told.round, colors);
  let idle = 0;
  const stage = document.querySelector(".stage");
  round.beforehand = () => stage.setAttribute("aria-busy", "true");
  round.afterwards = () => {
    byId("tags").replaceChildren();
    clearTimeout(idle);
    idle = setTimeout(() => { showTags(); stage.setAttribute("aria-busy", "false"); }, 120);
  };
  listen();
  look("corner");
} catch (fault) {
  round = null;
  byId("round").hidden = true;
  byId("no-round").hidden = false;
  for (const id of ["views", "toggles", "card"]) byId(id).hidden = true;
  document.querySelector(".cut").hidden = true;
}
showAll();
new ResizeObserver(() => { showWhere(); if (round) round.draw(); }).observe(document.querySelector("main"));
