// What the visitor chose, and everything that follows from it.

const told = JSON.parse(document.getElementById("data").textContent);

const tables = {};
for (const key of ["bare", "fitted"]) {
  tables[key] = Object.fromEntries(Object.entries(told.widths[key]).map(([name, text]) => [name, unpacked(text, Uint16Array)]));
}

const state = {
  unit: told.units === "in" ? 1 : 0,
  height: told.begin[0],
  station: told.begin[1],
  isAsked: false, // whether the height is one that the visitor chose
  chosen: -1,
};

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

// ---- begin ----

const onName = (name) => {
  const i = told.modules.findIndex((module) => module.name === name);
  choose(i === state.chosen ? -1 : i, false, false);
};
const section = new Flat(byId("section"), told.flat, false, onName);
const plan = new Flat(byId("plan"), told.flat, true, onName);
let round = null;
let orbit = null;
const handled = {
  where: () => [told.heights.at[state.height], told.stations.at[state.station]],
  names: () => told.modules.map((module) => module.name),
  height: (mm) => {
    if (state.isAsked) return;
    state.height = told.heights.at.reduce((best, v, i, all) => (Math.abs(v - mm) < Math.abs(all[best] - mm) ? i : best), 0);
    showWhere();
  },
  cutBy: (cut) => { byId("cut").value = cut; },
  hides: (key, yes) => { byId(`show-${key}`).checked = !yes; },
  picked: (mesh) => choose(mesh ? mesh.module : -1, false, false),
  viewed: (name) => {
    for (const button of byId("views").children) button.setAttribute("aria-pressed", button.textContent === name);
  },
};

for (const key of ["height", "station"]) {
  byId(key).max = told[`${key}s`].at.length - 1;
  byId(key).addEventListener("input", (event) => {
    state[key] = Number(event.target.value);
    state.isAsked ||= key === "height";
    showWhere();
    if (orbit && orbit.cut === key) orbit.setCut(key);
  });
}
for (const [i, id] of ["units-mm", "units-in"].entries()) {
  byId(id).checked = state.unit === i;
  byId(id).addEventListener("change", () => { state.unit = i; showAll(); });
}

for (const name of Object.keys(VIEWS)) {
  const button = made("button", { type: "button", textContent: name });
  button.addEventListener("click", () => orbit.look(name));
  byId("views").append(button);
}
for (const [key, name] of Object.entries(TOGGLES)) {
  const box = made("input", { type: "checkbox", id: `show-${key}`, checked: true });
  box.addEventListener("change", () => orbit.setHidden(key, !box.checked));
  byId("toggles").append(made("label", {}, box, name));
}
byId("cut").addEventListener("change", (event) => orbit.setCut(event.target.value));

try {
  round = new Round(byId("round"), told.round, colors);
  orbit = new Orbit(round, byId("tags"), handled);
  let idle = 0;
  const stage = document.querySelector(".stage");
  round.beforehand = () => stage.setAttribute("aria-busy", "true");
  round.afterwards = () => {
    byId("tags").replaceChildren();
    clearTimeout(idle);
    idle = setTimeout(() => { orbit.showTags(); stage.setAttribute("aria-busy", "false"); }, 120);
  };
  orbit.look("corner");
} catch (fault) {
  round = orbit = null;
  byId("round").hidden = true;
  byId("no-round").hidden = false;
  for (const id of ["views", "toggles", "card"]) byId(id).hidden = true;
  document.querySelector(".cut").hidden = true;
}
showAll();
new ResizeObserver(() => { showWhere(); if (round) { round.draw(); orbit.reframe(); } }).observe(document.querySelector("main"));
