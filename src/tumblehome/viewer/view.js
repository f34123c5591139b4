// What the builder looks at and chooses, and everything that follows from it. No length is computed or worded here.

const STEPS = { mm: { fine: 1, far: 10, leap: 100 }, in: { fine: 25.4 / 16, far: 25.4, leap: 152.4 } };
const AXES = {
  height: { name: "Height", ends: "heights" },
  station: { name: "Station", ends: "stations" },
};
const PLACES = { x: "Front end at station", y: "Left side, from the centerline", z: "Foot at height" };
const SIZES = { wide: "Wide", deep: "Deep", high: "High" };
const MODULES = new Set(["module", "behind"]); // what is pointed at in a drawing, cut or seen beyond the cut
const NOTHING = {
  true: "Nothing is built in yet. Begin with a first [[modules]] in the text of the file, below.",
  false: "A bare shell: nothing is built in yet.",
};
const SETTLED = 350; // ms without a change before what is slow to work out is asked for

const state = { plan: null, units: document.documentElement.dataset.units, mode: null, height: 0, station: 0, isAsked: false, chosen: "", picked: ["", ""], hidden: new Set() };
const oneColumn = window.matchMedia("(max-width: 620px)");
const u = () => (state.units === "in" ? 1 : 0);
const steps = () => STEPS[state.units];
const layout = () => state.plan && (state.plan.layouts.find((each) => each.mode === state.mode) || state.plan.layouts[0]);
const modules = () => (layout() ? layout().modules : []);
const moduleNamed = (name) => modules().find((each) => each.name === name);

function button(words, use, more = {}) {
  const result = made("button", { type: "button", ...more }, words);
  result.addEventListener("click", use);
  return result;
}

// A field to type into: what it shows follows the plan, but never while something else is typed in it. Enter or leaving it uses
// what was typed, Escape takes it back; what is wrong with it is told below it.
class Typed {
  constructor(id, name, use) {
    this.input = made("input", { type: "text", id, autocomplete: "off", spellcheck: false, ...name });
    this.wrong = made("p", { className: "wrong", id: `${id}-wrong`, role: "alert" });
    this.input.setAttribute("aria-describedby", this.wrong.id);
    Object.assign(this, { use, shown: "", used: "" });
    this.input.addEventListener("input", () => { this.used = ""; });
    this.input.addEventListener("change", () => this.enter());
    this.input.addEventListener("keydown", ({ key }) => {
      if (key === "Enter") this.enter();
      else if (key === "Escape") this.show(this.shown);
    });
  }

  get isTyped() { return this.input.value !== this.shown; }

  // Use what is typed, once; where nothing is left to use, what was shown comes back.
  enter() {
    const { value } = this.input;
    if (!value.trim()) this.show(this.shown);
    if (!this.isTyped || value === this.used) return;
    this.used = value;
    this.use(value);
  }

  // What is selected whole, to be typed over, stays so when it is told anew.
  show(words) {
    const { input } = this;
    const isWhole = input === document.activeElement && input.value && input.selectionStart === 0 && input.selectionEnd === input.value.length;
    Object.assign(this, { shown: words, used: "" });
    input.value = words;
    if (isWhole) input.select();
    this.fault("");
  }

  // What was used and refused gives way, too, once there is something else to show.
  follow(words) {
    if (this.shown === words) return;
    if (this.isTyped && this.input.value !== this.used) this.shown = words;
    else this.show(words);
  }

  fault(words) {
    this.wrong.textContent = words;
    this.input.setAttribute("aria-invalid", Boolean(words));
  }
}

// ---- what is told in a line under the head ----

const lines = {};
function tell(key, words, kind = "", ...actions) {
  if (lines[key]) lines[key].remove();
  delete lines[key];
  if (!words) return;
  lines[key] = made("p", { className: `line ${key} ${kind}` }, made("span", {}, words), ...actions);
  byId("lines").append(lines[key]);
}

// What something came to: a fault, and what happened elsewhere, stays until it is closed or the next thing is done.
function said({ fault, words }, done = "", stays = Boolean(fault)) {
  tell("said", fault || done, fault ? "wrong" : "", ...(stays ? [button("close", () => tell("said", ""))] : []));
  if (words && !done) announce(words);
  clearTimeout(said.later);
  if (!stays && done) said.later = setTimeout(() => tell("said", ""), 4000);
}

// What a change came to, for whoever does not see it.
function announce(words) {
  clearTimeout(announce.later);
  announce.later = setTimeout(() => {
    const module = moduleNamed(state.chosen);
    byId("news").textContent = module ? `${words}. ${module.name} ${module.verdict}. ${module.facts[1][u()]}` : words;
  }, SETTLED);
}

// ---- asking ----

const looking = () => ({ units: state.units, mode: state.mode });
const talk = new Talk((plan, news) => {
  showPlan(plan);
  if (news && !plan.conflict) said({}, news, true);
}, () => {
  changes.drop();
  tell("lost", "");
  talk.ask("told", {}, ({ told }) => { textBox.revision = null; showPlan(told, true); });
}, () => {
  changes.drop();
  for (const pane of Object.values(panes)) pane.isWaiting = false;
  tell("lost", "The program has ended, or this page is too old for it. Start it again and open the address that it tells; unsaved work is kept.", "wrong");
});

// One drawing or both; each brings the widths where the two cuts cross.
function askCuts(which = ["section", "plan"]) {
  if (!state.plan) return;
  remember();
  for (const name of which) {
    const size = panes[name].size();
    const asked = { ...looking(), ...size, height: state.height, station: state.station, hidden: [...state.hidden] };
    Object.assign(panes[name], { isWaiting: true, sized: size });
    talk.ask(name, asked, (drawing) => showCut(name, drawing));
  }
}

function showCut(name, drawing) {
  panes[name].isWaiting = false;
  changes.next();
  if (drawing.fault) { said(drawing); return; }
  panes[name].show(drawing);
  showWidth(drawing.width);
  if (name === "section") showMargins();
}

function askRound() {
  talk.ask("round", looking(), round.take);
}

function edit(kind, fields, use = said) {
  changes.add("edit", { edit: kind, module: state.chosen, ...fields }, use);
}

// Changes that come faster than they are answered and drawn wait here, and none overtakes another: steps the same way add up, of a
// drag the last place counts.
const changes = {
  waiting: [], isBusy: false,
  get isIdle() { return !changes.waiting.length && !changes.isBusy; },
  add(ask, asked, use) {
    const fields = { ...looking(), ...asked };
    const last = changes.waiting.at(-1);
    const isOfKind = ask === "drag" || fields.edit === "nudge";
    const isSame = isOfKind && last && last.ask === ask && ["mode", "module", "edit", "axis", "drag"].every((key) => last.fields[key] === fields[key]);
    if (!isSame) changes.waiting.push({ ask, fields, use });
    else last.fields = ask === "drag" ? fields : { ...fields, mm: last.fields.mm + fields.mm };
    changes.next();
  },
  next() {
    if (!changes.waiting.length || changes.isBusy || panes.plan.isWaiting) return;
    const { ask, fields, use } = changes.waiting.shift();
    changes.isBusy = true;
    talk.ask(ask, fields, (answer) => {
      changes.isBusy = false;
      use(answer);
      changes.next();
    });
  },
  forget(drag) { changes.waiting = changes.waiting.filter(({ fields }) => fields.drag !== drag); },
  drop() { Object.assign(changes, { waiting: [], isBusy: false }); },
};

function nudge(axis, mm) {
  if (state.chosen && canChange()) edit("nudge", { axis, mm });
}

const canChange = () => Boolean(state.plan && state.plan.is_layout);

// ---- the plan as it is now ----

function showPlan(plan, isFirst = false) {
  const before = state.plan;
  state.plan = plan;
  if (!before) begin(plan, history.state);
  showSpans(plan);
  if (!layout() || layout().mode !== state.mode) state.mode = layout() ? layout().mode : null;
  if (!moduleNamed(state.chosen)) state.chosen = "";
  if (MODULES.has(state.picked[1]) && !moduleNamed(state.picked[0])) state.picked = ["", ""];
  showHead();
  showThings();
  showChosen();
  showPicked();
  textBox.follow(plan);
  if (isFirst || !before || before.revision !== plan.revision) {
    askCuts();
    askRound();
    askStudy();
  }
}

// What was looked at before the page was loaded again is looked at again.
function begin(plan, kept) {
  if (kept) Object.assign(state, kept, { hidden: new Set(kept.hidden) });
  else [state.height, state.station] = plan.begin[u()];
  for (const radio of byId("units").querySelectorAll("input")) radio.checked = radio.value === state.units;
  round.hide(state.hidden);
  document.body.setAttribute("aria-busy", "false");
}

function remember() {
  clearTimeout(remember.later);
  const { units, mode, height, station, isAsked, chosen, hidden } = state;
  const kept = { units, mode, height, station, isAsked, chosen, hidden: [...hidden] };
  remember.later = setTimeout(() => history.replaceState(kept, ""), SETTLED);
}

// Where it can be cut, which is another matter in another shell.
function showSpans(plan) {
  const told = JSON.stringify([plan.heights, plan.stations, plan.stops]);
  if (told === showSpans.told) return;
  showSpans.told = told;
  for (const [axis, { ends }] of Object.entries(AXES)) {
    const [low, high] = plan[ends];
    state[axis] = clamp(state[axis], low, high);
    Object.assign(sliders[axis].range, { min: low, max: high, value: state[axis] });
  }
  byId("stops").replaceChildren(byId("stops").firstElementChild, ...plan.stops.map(([words, at]) => made("option", { value: at }, words)));
}

function showHead() {
  const { plan } = state;
  document.title = `${plan.title}, ${plan.van}`;
  byId("title").textContent = plan.is_layout ? `${plan.title}, ${plan.van}` : plan.van;
  byId("note").textContent = plan.note;
  byId("note").title = plan.note;
  const now = layout();
  byId("verdict").replaceChildren(...(now && now.modules.length ? [marked(now.verdict), ` ${now.modules.filter((m) => m.verdict === now.verdict).length} of ${now.modules.length} modules`] : []));
  byId("undo").disabled = !plan.can_undo;
  byId("redo").disabled = !plan.can_redo;
  byId("undo").title = plan.can_undo ? `take back: ${plan.undo_words}` : "nothing to take back";
  byId("save").disabled = plan.is_saved;
  byId("save").textContent = plan.is_saved ? "saved" : "save";
  document.querySelector(".work").hidden = !plan.is_layout;
  const faulty = plan.is_fault_typed ? "The text typed here" : plan.is_saved ? "The file" : "The plan";
  tell("fault", plan.fault ? `${faulty} cannot be read as it is now; shown is how it last was. ${plan.fault}` : "", "wrong");
  showModes();
  if (plan.conflict) askWhose();
  else if (plan.has_recovery) askRecovery();
  else if (box.dataset.why) decided();
}

function showModes() {
  const names = state.plan.layouts.map((each) => each.mode);
  const field = byId("modes");
  field.hidden = names.length < 2;
  if (field.dataset.names !== names.join("\n")) {
    field.dataset.names = names.join("\n");
    field.replaceChildren(field.firstElementChild, ...names.map((name) => {
      const radio = made("input", { type: "radio", name: "modes", value: name });
      radio.addEventListener("change", () => { state.mode = name; showPlan(state.plan, true); });
      return made("label", {}, radio, made("span", {}, name));
    }));
  }
  for (const radio of field.querySelectorAll("input")) radio.checked = radio.value === state.mode;
}

// ---- the list, and what is chosen in it ----

function showThings() {
  const all = modules();
  const found = all.flatMap((module) => module.findings);
  const count = (verdict) => found.filter((f) => f.verdict === verdict).length;
  byId("things-sum").textContent = all.length ? `Of ${found.length} questions ${count("clear")} are clear, ${count("tight")} tight, ${count("fouls")} foul` : NOTHING[canChange()];
  const held = document.activeElement && document.activeElement.dataset ? document.activeElement.dataset.thing : undefined;
  byId("things").replaceChildren(...all.map((module) => {
    const { name } = module;
    const row = button("", () => chooseListed(name), { className: state.hidden.has(name) ? "hidden-one" : "" });
    row.dataset.thing = name;
    row.append(made("span", {}, name, ...(state.hidden.has(name) ? [" (hidden)"] : [])), marked(module.verdict));
    row.setAttribute("aria-pressed", name === state.chosen);
    return made("li", {}, row);
  }));
  if (held !== undefined) {
    const again = rowOf(held);
    if (again) again.focus({ preventScroll: true });
  }
}

const rowOf = (name) => [...byId("things").querySelectorAll("button")].find((each) => each.dataset.thing === name);

function choose(name, kind = "module") {
  state.chosen = MODULES.has(kind) && moduleNamed(name) ? name : "";
  state.picked = [name, kind];
  state.study = null;
  showThings();
  showChosen();
  showPicked();
  for (const pane of Object.values(panes)) pane.cover();
  round.choose(state.chosen);
  remember();
  askStudy();
  const [row, list] = [rowOf(name), byId("things")];
  if (row && list.scrollHeight > list.clientHeight) row.scrollIntoView({ block: "nearest" }); // where the list has a place of its own
}

byId("things").addEventListener("keydown", (event) => { if (event.key === "Escape") choose(""); });

// From the list, where what is told of a module stands below it, it is gone to.
function chooseListed(name) {
  choose(state.chosen === name ? "" : name);
  if (state.chosen && oneColumn.matches) byId("chosen").scrollIntoView();
}

// What was pointed at, over the picture in the round; of a module only where its panel stands elsewhere on a long page.
function showPicked() {
  const [name, kind] = state.picked;
  const module = MODULES.has(kind) ? moduleNamed(name) : undefined;
  const words = module ? [`${name}: ${module.verdict}`, module.facts[1][u()], ...module.findings.filter((f) => f.verdict !== "clear").slice(0, 1).map((f) => `${f.question}: ${f.words[u()]}`)].join("\n") : name && partWords(name, kind);
  if (byId("picked").textContent !== words) byId("picked").textContent = words;
  byId("picked").classList.toggle("of-module", Boolean(module));
}

// What a part of the van does, and what was found because of it.
function partWords(name, kind) {
  const found = modules().flatMap((m) => m.findings.filter((f) => f.cause === name).map((f) => `${m.name}, ${f.question}: ${f.words[u()]}`));
  const does = kind === "member" ? "stands out from the lining" : kind === "recess" ? "gives room" : "part of the shell";
  return [`${name}: ${does}`, ...found.slice(0, 3)].join("\n");
}

function showChosen() {
  const module = moduleNamed(state.chosen);
  const panel = byId("chosen");
  panel.hidden = !module;
  byId("list-side").classList.toggle("has-chosen", Boolean(module));
  if (!module) { panel.dataset.name = ""; return; }
  if (panel.dataset.name !== module.name) {
    panel.dataset.name = module.name;
    panel.replaceChildren(...chosenParts(module.name));
    panel.scrollTop = 0;
  }
  byId("chosen-name").replaceChildren(module.name, " ", marked(module.verdict));
  byId("chosen-facts").replaceChildren(...module.facts.slice(1).map((fact) => made("p", {}, fact[u()])));
  Object.keys(PLACES).forEach((key, i) => fields[key].follow(module.place[i][u()]));
  Object.keys(SIZES).forEach((key, i) => fields[key].follow(module.sizes[i][u()]));
  byId("hide").textContent = state.hidden.has(module.name) ? "show" : "hide";
  const offered = new Set();
  const isNew = ({ words }) => !offered.has(words[0]) && offered.add(words[0]);
  const mends = (f) => (canChange() ? f.mends.filter(isNew) : []).map(({ words, axis, mm }) => button(`move it ${words[u()]}`, () => edit("nudge", { axis, mm }), { className: "mend" }));
  const rows = (all) => all.map((f) => made("li", { title: f.source }, marked(f.verdict), made("span", {}, `${f.question}: ${f.words[u()]}`, ...mends(f))));
  byId("chosen-wrong").replaceChildren(...rows(module.findings.filter((f) => f.verdict !== "clear")), ...againstIt(module.name));
  byId("chosen-found").replaceChildren(...rows(module.findings.filter((f) => f.verdict === "clear")));
  showStudy();
}

// What others find because of it: two that foul each other are told at one of them.
function againstIt(name) {
  const found = modules().flatMap((m) => m.findings.filter((f) => f.cause === name && f.verdict !== "clear").map((f) => [m.name, f]));
  return found.map(([other, f]) => made("li", { title: f.source }, marked(f.verdict), made("span", {}, button(other, () => choose(other), { className: "link" }), ` ${f.question}: ${f.words[u()]}`)));
}

function chosenParts(name) {
  const isFixed = !canChange();
  const group = (words, ...parts) => made("div", { className: "actions", role: "group", ariaLabel: words }, made("span", { className: "quiet" }, words), ...parts);
  const rows = [
    ...Object.entries(PLACES).map(([key, words]) => fieldRow(key, words, "move", name, (mm) => nudge(key, mm))),
    ...Object.entries(SIZES).map(([key, words], i) => fieldRow(key, words, "resize", name, (mm) => edit("resize", { [key]: moduleNamed(name).size[i] + mm }))),
  ];
  const sides = ["left", "right", "front", "rear"].map((side) => button(side, () => push(side), { ariaLabel: `push out to the ${side}` }));
  const turns = [["left", 90], ["right", -90]].map(([way, degrees]) => button(way, () => edit("turn", { degrees }), { ariaLabel: `turn 90 degrees to the ${way}` }));
  const more = [button("duplicate", duplicate), button("remove", remove), button("does it come out?", carryOut, { ariaHasPopup: "dialog" })];
  return [
    made("div", { className: "chosen-head" }, made("h2", { id: "chosen-name" }), made("a", { href: "#list-side", className: "to-list" }, "list"), button("hide", hideChosen, { id: "hide" })),
    made("div", { id: "chosen-facts", className: "quiet" }),
    made("ul", { id: "chosen-wrong", className: "found" }),
    made("div", { id: "gains" }),
    made("fieldset", { disabled: isFixed, className: "fields" }, made("legend", {}, "Place and size"), ...rows,
      group("push out to", ...sides), group("turn", ...turns), made("div", { className: "actions" }, ...more)),
    made("h3", {}, "What is clear"), made("ul", { id: "chosen-found", className: "found" }),
  ];
}

// What it gains is told further up than it is pushed.
function push(side) {
  edit("push", { side }, (answer) => { said(answer); byId("gains").scrollIntoView({ block: "nearest" }); });
}

function duplicate() {
  const before = new Set(modules().map((module) => module.name));
  edit("duplicate", {}, (answer) => {
    said(answer);
    const copy = modules().find((module) => !before.has(module.name));
    if (!copy) return;
    choose(copy.name);
    rowOf(copy.name).focus();
  });
}

function remove() {
  const at = modules().findIndex((module) => module.name === state.chosen);
  edit("remove", {}, (answer) => {
    said(answer);
    const next = modules()[Math.min(at, modules().length - 1)];
    if (!answer.fault) (next ? rowOf(next.name) : byId("undo")).focus();
  });
}

// Whether the chosen module can ever leave the van: its way out, moving, or in words what bars it.
function carryOut() {
  const name = state.chosen;
  said({}, `carrying ${name} out …`);
  fetch(`take/carry.gif?${new URLSearchParams({ ...fieldsOf(), module: name })}`).then(async (answer) => {
    said({}, "");
    if (!answer.ok) { openBox(`${name}: does it come out?`, made("p", {}, await answer.text())); return; }
    const words = decodeURIComponent(answer.headers.get("Words"));
    const picture = made("img", { src: URL.createObjectURL(await answer.blob()), alt: `${name} on its way out of the van, seen from above. ${words}` });
    picture.addEventListener("load", () => URL.revokeObjectURL(picture.src));
    openBox(`${name} comes out`, made("p", {}, words), picture);
  }, () => said({ fault: "the program did not answer; start it again" }));
}

// What is typed is for the module whose field it is, even where leaving the field is choosing another one.
const fields = {};
function fieldRow(key, words, kind, module, step) {
  const field = new Typed(`at-${key}`, {}, (text) => edit(kind, { module, [key]: text }, (answer) => {
    if (answer.fault && field.input.isConnected) { field.fault(answer.fault); return; }
    field.show(field.shown);
    said(answer);
  }));
  const { input, wrong } = field;
  fields[key] = field;
  input.addEventListener("keydown", (event) => {
    const way = { ArrowUp: 1, ArrowDown: -1 }[event.key];
    if (!way) return;
    event.preventDefault();
    field.show(field.shown);
    step(way * (event.shiftKey ? steps().far : steps().fine));
  });
  const by = (sign, mark, more) => button(mark, () => step(sign * steps().far), { ariaLabel: `${words}: ${more}`, className: "step" });
  return made("div", { className: "field" }, made("label", { htmlFor: input.id }, words), by(-1, "−", "less"), input, by(1, "+", "more"), wrong);
}

function hideChosen() {
  const { hidden, chosen } = state;
  if (!hidden.delete(chosen)) hidden.add(chosen);
  round.hide(hidden);
  showThings();
  showChosen();
  askCuts();
}

// ---- what its place gives a module ----

function askStudy() {
  clearTimeout(askStudy.later);
  if (!moduleNamed(state.chosen)) return;
  const asked = { ...looking(), module: state.chosen };
  askStudy.later = setTimeout(() => talk.ask("study", asked, (answer) => {
    if (asked.module !== state.chosen) return;
    state.study = answer;
    showStudy();
  }), state.study ? SETTLED : 0);
}

function showStudy() {
  const { study } = state;
  const parts = [];
  if (study && study.sentences && study.sentences.length) {
    parts.push(made("h3", {}, "What its place gives it"), made("ul", {}, ...study.sentences.map((s) => made("li", {}, s))));
  }
  const module = moduleNamed(state.chosen);
  if (study && !study.curves && canChange() && !module.parent && !["left", "right"].includes(module.against)) {
    const sides = ["left", "right"].map((side) => button(`push it out to the ${side}`, () => push(side)));
    parts.push(made("p", { className: "quiet" }, "It stands free of the side walls. At one of them its place there gives and costs it something:"), made("div", { className: "actions" }, ...sides));
  }
  if (study && study.curves) parts.push(button("show the curves", showCurves, { ariaHasPopup: "dialog" }));
  byId("gains").replaceChildren(...parts);
}

function showCurves() {
  openBox(`${state.chosen}: how tall, and where along the wall`, made("p", { className: "quiet" }, "Drawing …"));
  talk.ask("curves", { ...looking(), module: state.chosen }, ({ fault, curves }) => {
    if (fault) { openBox("No curves", made("p", {}, fault)); return; }
    const figures = curves.map(({ title, svg }) => {
      const read = new DOMParser().parseFromString(svg, "image/svg+xml").documentElement;
      read.style.width = `${4 * parseFloat(read.getAttribute("width"))}px`;
      for (const attribute of ["width", "height"]) read.removeAttribute(attribute);
      read.setAttribute("role", "img");
      read.setAttribute("aria-label", title);
      return made("figure", { className: "curve", tabIndex: 0, ariaLabel: title }, read);
    });
    openBox(`${state.chosen}: how tall, and where along the wall`, ...figures);
  });
}

// ---- where it is cut ----

const sliders = {};
for (const root of document.querySelectorAll(".slider")) {
  const { axis } = root.dataset;
  const { name } = AXES[axis];
  const range = made("input", { type: "range", id: axis, step: "any", min: 0, max: 1 });
  const text = new Typed(`${axis}-text`, { ariaLabel: `${name}, typed` }, (words) => slideTyped(axis, words));
  const by = (sign, mark, words) => button(mark, () => slide(axis, state[axis] + sign * steps().far), { className: "step", ariaLabel: `${name}: ${words}` });
  root.append(made("label", { htmlFor: axis }, name), by(-1, "−", "less"), range, by(1, "+", "more"), text.input, text.wrong);
  sliders[axis] = { range, text };
  range.addEventListener("input", () => slide(axis, rounded(Number(range.value))));
  range.addEventListener("keydown", (event) => slideKey(axis, event));
}
byId("stops").addEventListener("change", ({ target }) => { if (target.value) slide("station", Number(target.value)); target.value = ""; });

const rounded = (mm) => Math.round(mm / steps().fine) * steps().fine;

function slide(axis, mm) {
  const [low, high] = state.plan[AXES[axis].ends];
  state[axis] = clamp(mm, low, high);
  state.isAsked ||= axis === "height"; // a view does not change a height that was asked for
  sliders[axis].range.value = state[axis];
  sliders[axis].text.show(sliders[axis].text.shown);
  round.slid(axis);
  askCuts([axis === "height" ? "plan" : "section"]);
}

function slideKey(axis, event) {
  const way = { ArrowRight: 1, ArrowUp: 1, ArrowLeft: -1, ArrowDown: -1, PageUp: 1, PageDown: -1 }[event.key];
  if (!way || event.ctrlKey || event.metaKey || event.altKey) return;
  event.preventDefault();
  const size = event.key.startsWith("Page") ? steps().leap : event.shiftKey ? steps().far : steps().fine;
  slide(axis, state[axis] + way * size);
}

function slideTyped(axis, typed) {
  const { text } = sliders[axis];
  talk.ask("length", { ...looking(), text: typed }, ({ fault, mm, words }) => {
    const [low, high] = state.plan[AXES[axis].ends];
    const isOutside = !fault && (mm < low || mm > high);
    text.fault(fault || (isOutside ? `outside the van; it has ${AXES[axis].ends} ${state.plan.ends[axis][u()]}` : ""));
    if (fault || isOutside) return;
    text.show(words);
    slide(axis, mm);
  });
}

function showWidth(told) {
  for (const axis of Object.keys(AXES)) {
    const { range, text } = sliders[axis];
    range.setAttribute("aria-valuetext", told[axis]);
    text.follow(told[axis]);
  }
  byId("section-title").textContent = `Station ${told.station}`;
  byId("plan-title").textContent = `Plan at height ${told.height}`;
  const shown = told.fitted || told.bare;
  showFree("fitted", shown, told.fitted ? "Usable width, furnished" : "Usable width");
  if (told.fitted) showFree("bare", told.bare, "Empty van");
  byId("bare").hidden = !told.fitted;
  panes.section.ask({ at: state.height, breadths: shown.breadths, words: shown.usable });
  panes.plan.ask({ at: state.station, breadths: shown.breadths, words: shown.usable });
}

function showFree(id, found, words) {
  const side = (name, { half, part }) => made("span", { className: "half" }, `${name} `, made("b", {}, half), ` to ${part}${state.hidden.has(part) ? " (hidden)" : ""}`);
  const parts = found.usable
    ? [made("span", { className: "sum" }, `${words} `, made("b", {}, found.usable)), side("left", found.left), side("right", found.right)]
    : [made("span", { className: "sum" }, `${words} `, made("b", {}, "none")), made("span", { className: "half" }, found.blocked)];
  byId(id).replaceChildren(...parts);
}

// The least margins of what the cross-section cuts.
function showMargins() {
  const cut = new Set(panes.section.drawing ? panes.section.drawing.things.filter(([kind]) => kind === "module").map(([, name]) => name) : []);
  const found = modules().filter((m) => cut.has(m.name)).flatMap((m) => m.findings.map((f) => ({ ...f, name: m.name })));
  const telling = found.filter((f) => f.margin !== null || f.verdict !== "clear").sort((a, b) => (a.margin ?? -1e9) - (b.margin ?? -1e9));
  const rows = telling.slice(0, 4).map((f) => {
    const name = button(f.name, () => choose(f.name), { className: "link" });
    return made("li", {}, marked(f.verdict), made("span", {}, name, ` ${f.question}: ${f.words[u()]}`));
  });
  byId("margins").replaceChildren(...(rows.length ? rows : [made("li", { className: "quiet" }, made("span", {}, "Nothing is cut here that could stand too close."))]));
}

// ---- the two drawings ----

const handling = {
  chosenName: () => state.chosen,
  module: moduleNamed,
  canChange,
  chosen: (name, kind) => { if (name !== state.chosen || !name) choose(name, kind); },
  read(pane, place) {
    const [across, up] = place;
    const where = pane === panes.plan ? { height: state.height, station: across, breadth: up } : { height: up, station: state.station, breadth: across };
    talk.ask("place", { ...looking(), ...where }, ({ words }) => pane.tell(words));
  },
  dragged(pane, module, [x, y, z], drag) {
    const level = pane.axis === 2 ? "z" : "x";
    const within = 12 / pane.dots() * pane.drawing.scale;
    changes.add("drag", { module, x, y, z, drag, within, level }, ({ fault, words }) => {
      pane.refused = fault;
      if (pane.isHeld(drag)) pane.tell([fault || words || "moved"]);
      else said({ fault });
    });
  },
  // What is told of a drag goes with it; that it was refused, and what holds then, stays to be read.
  dropped(pane, module, kept, drag) {
    pane.tell([]);
    if (kept) said({ fault: pane.refused });
    if (kept) return;
    changes.forget(drag);
    changes.add("release", { module, drag }, said);
  },
  nudged(key, way, far) { nudge(key, way * (far ? steps().far : steps().fine)); },
};
const panes = {
  section: new Pane(byId("section"), 0, "yz", handling),
  plan: new Pane(byId("plan"), 2, "xy", handling),
};

// ---- the van in the round ----

const round = {
  view: null, orbit: null, numbers: [],
  take(told) {
    if (round.failed) return;
    if (told.fault) { said(told); return; }
    const meshes = told.meshes.map((mesh) => ({ ...mesh, module: mesh.kind === "module" ? round.number(mesh.name) : -1 }));
    if (told.head && round.view) round.view.restart({ ...told.head, meshes });
    else if (told.head) round.start({ ...told.head, meshes });
    else if (round.view) round.view.replace(new Set(told.gone), meshes);
    round.choose(state.chosen);
  },
  number(name) {
    if (!round.numbers.includes(name)) round.numbers.push(name);
    return round.numbers.indexOf(name);
  },
  start(told) {
    try {
      round.view = new Round(byId("round"), told, colors);
    } catch (fault) {
      round.failed = true;
      byId("round").hidden = true;
      byId("no-round").hidden = false;
      for (const part of document.querySelectorAll(".shown, .toggles")) part.hidden = true;
      return;
    }
    round.orbit = new Orbit(round.view, byId("tags"), {
      where: () => [state.height, state.station],
      names: () => round.numbers,
      height: (mm) => { if (!state.isAsked) slide("height", rounded(mm)); },
      cutBy: (cut) => { byId("cut").value = cut; },
      hides: (key, yes) => { byId(`show-${key}`).checked = !yes; },
      picked: (mesh) => choose(mesh ? mesh.name : "", mesh ? mesh.kind : ""),
      viewed: (name) => { for (const each of byId("views").children) each.setAttribute("aria-pressed", each.textContent === name); },
    });
    let idle = 0;
    const stage = document.querySelector(".stage");
    round.view.beforehand = () => stage.setAttribute("aria-busy", "true");
    round.view.afterwards = () => {
      byId("tags").replaceChildren();
      clearTimeout(idle);
      idle = setTimeout(() => { round.orbit.showTags(); stage.setAttribute("aria-busy", "false"); }, 160);
    };
    round.orbit.look("corner");
    round.hide(state.hidden);
  },
  choose(name) {
    if (!round.view) return;
    round.view.chosen = name ? round.number(name) : -1;
    round.view.draw();
  },
  hide(names) {
    if (!round.view) return;
    round.view.hiddenNames = new Set(names);
    round.view.draw();
  },
  slid(axis) {
    if (round.orbit && round.orbit.cut === axis) round.orbit.setCut(axis);
  },
};

for (const name of Object.keys(VIEWS)) byId("views").append(button(name, () => round.orbit && round.orbit.look(name)));
for (const [key, name] of Object.entries(TOGGLES)) {
  const tick = made("input", { type: "checkbox", id: `show-${key}`, checked: true });
  tick.addEventListener("change", () => { if (round.orbit) round.orbit.setHidden(key, !tick.checked); });
  byId("toggles").append(made("label", {}, tick, name));
}
byId("cut").addEventListener("change", (event) => { if (round.orbit) round.orbit.setCut(event.target.value); });

// ---- the text of the file ----

const textBox = new TextBox({
  canChange,
  ask: (use) => talk.ask("text", {}, use),
  apply: (typed) => edit("text", { text: typed }),
});

// ---- boxes: what must be decided, and what is taken away ----

const box = byId("box");
function openBox(title, ...parts) {
  const why = parts.length && typeof parts[0] === "string" ? parts.shift() : "";
  box.dataset.why = why;
  const close = why ? [] : [button("close", () => box.close(), { className: "close" })];
  box.replaceChildren(made("div", { className: "box-head" }, made("h2", { id: "box-title" }, title), ...close), ...parts);
  if (!box.open) box.showModal();
}

// What must be decided stays: a browser lets the first Escape be prevented, not one after the other.
box.addEventListener("cancel", (event) => { if (box.dataset.why) event.preventDefault(); });
box.addEventListener("close", () => { if (box.dataset.why && !box.open) box.showModal(); });
function decided() {
  box.dataset.why = "";
  box.close();
}

function askWhose() {
  if (box.dataset.why === "conflict") return;
  openBox("The file has changed on the disk", "conflict",
    made("p", {}, `${state.plan.file} was changed by another program where you changed it here too. Nothing is overwritten until you say which is right.`),
    made("div", { className: "choices" },
      button("keep what is here", () => talk.ask("keep", { whose: "mine" }, said)),
      button("take what is on the disk", () => talk.ask("keep", { whose: "disk" }, said))));
}

function askRecovery() {
  const { when, replaces } = state.plan.recovery;
  const why = `recovery of ${when}`;
  if (box.dataset.why === why) return;
  const what = replaces
    ? "It contradicts what is here now: taken up, it takes the place of that, and undo brings that back."
    : "Taken up, it is joined with what is here now.";
  openBox("Unsaved work of an earlier run is there", why,
    made("p", {}, `A run of ${state.plan.file} ended before everything was saved. Its last change is of ${when}. ${what}`),
    made("div", { className: "choices" },
      button("take it up again", () => talk.ask("recover", {}, said)),
      button("throw it away", () => talk.ask("discard", {}, said))));
}

function fetched(name, fields, file) {
  said({}, `making ${file} …`);
  fetch(`take/${name}?${new URLSearchParams(fields)}`).then(async (answer) => {
    if (!answer.ok) { said({ fault: await answer.text() }); return; }
    handOver(await answer.blob(), file);
  }, () => said({ fault: "the program did not answer; start it again" }));
}

function handOver(blob, file) {
  const link = made("a", { href: URL.createObjectURL(blob), download: file });
  document.body.append(link);
  link.click();
  link.remove();
  setTimeout(() => URL.revokeObjectURL(link.href), 60000);
  said({}, `${file} is in your downloads`);
}

function showTake() {
  const cut = (name, words) => {
    const cuts = name === "plan" ? { at: state.height } : { at: state.station, height: state.height };
    const what = `${name}-${name === "plan" ? "height" : "station"}-${Math.round(cuts.at)}mm`;
    const kinds = ["svg", "pdf", "dxf"].map((kind) => button(kind.toUpperCase(), () => fetched(`${name}.${kind}`, { ...fieldsOf(), ...cuts, hidden: [...state.hidden].join("\n") }, fileOf(what, kind)), { ariaLabel: `${words} as ${kind.toUpperCase()}` }));
    return made("div", { className: "actions" }, made("span", {}, words), ...kinds);
  };
  const stills = [[1280, 720], [1920, 1080], [3840, 2160]].map(([wide, tall]) => button(`${wide} × ${tall}`, () => takeStill(wide, tall), { disabled: !round.view }));
  const client = button("make the page", () => fetched("client.html", fieldsOf(), fileOf("page", "html")), { disabled: !canChange() });
  const forClient = `One page for the client, that needs no network${canChange() ? "" : "; a bare shell has nothing to show on it, name a layout file"}`;
  openBox("Take away",
    cut("plan", byId("plan-title").textContent), cut("section", byId("section-title").textContent),
    made("div", { className: "actions" }, made("span", {}, "This view, as a picture"), ...stills),
    made("div", { className: "actions" }, made("span", {}, forClient), client));
}
const fieldsOf = () => ({ units: state.units, mode: state.mode || "" });
const fileOf = (what, kind) => `${[state.plan.file.replace(/\.[^.]*$/, ""), state.mode, what].filter(Boolean).join("-")}.${kind}`;

function takeStill(wide, tall) {
  const picture = made("canvas", { width: wide, height: tall });
  const pen = picture.getContext("2d");
  const size = tall / 45;
  const high = Math.round(tall - 2.3 * size); // below it stands the title
  round.view.still(wide, high, (canvas) => {
    pen.drawImage(canvas, 0, 0, wide, high);
    writeNames(pen, high / round.view.extent()[1]);
  });
  pen.font = `bold ${size}px "DejaVu Sans", Verdana, sans-serif`;
  pen.fillStyle = style.getPropertyValue("--air");
  pen.fillRect(0, high, wide, tall - high);
  pen.fillStyle = style.getPropertyValue("--ink");
  pen.fillText([document.title, state.mode].filter(Boolean).join(", "), size, tall - size, wide - 2 * size);
  picture.toBlob((blob) => handOver(blob, fileOf(`still-${wide}x${tall}`, "png")), "image/png");
}

// The names in a still, as they stand on the page.
function writeNames(pen, dots) {
  pen.font = `${12 * dots}px "DejaVu Sans", Verdana, sans-serif`;
  pen.textAlign = "center";
  for (const { box, name, isChosen } of round.orbit.places()) {
    const [left, top, right, bottom] = box.map((v) => v * dots);
    const middle = (left + right) / 2;
    const wide = Math.min(pen.measureText(name).width + 8 * dots, right - left);
    pen.fillStyle = style.getPropertyValue(isChosen ? "--ink" : "--air");
    pen.globalAlpha = isChosen ? 1 : 0.86;
    pen.fillRect(middle - wide / 2, top, wide, bottom - top);
    pen.globalAlpha = 1;
    pen.fillStyle = style.getPropertyValue(isChosen ? "--air" : "--ink");
    pen.fillText(name, middle, bottom - 5 * dots, wide - 4 * dots);
  }
  pen.textAlign = "left";
}

// ---- begin ----

for (const radio of byId("units").querySelectorAll("input")) {
  radio.addEventListener("change", () => {
    state.units = radio.value;
    state.study = null;
    showPlan(state.plan, true);
  });
}
for (const id of ["undo", "redo"]) byId(id).addEventListener("click", () => goBack(id));
byId("save").addEventListener("click", save);
byId("take").addEventListener("click", showTake);

// What is typed is used before, so that it is in the file; where it was refused, or stands in the text, it is said that it is not.
function save() {
  for (const field of Object.values(fields)) field.enter();
  changes.add("save", {}, (answer) => said(answer, answer.words + leftOut()));
}

function leftOut() {
  if (textBox.isTyped) return "; what is typed in the text is not applied yet, and not in it";
  return Object.values(fields).some((field) => field.input.isConnected && field.isTyped) ? "; what is typed beside it was refused, and is not in it" : "";
}

function goBack(way) {
  changes.add(way, {}, (answer) => said({ words: way === "undo" ? "taken back" : "done again", ...answer }));
}

document.addEventListener("keydown", (event) => {
  const isText = event.target.matches && event.target.matches('input[type="text"], textarea');
  if (!(event.ctrlKey || event.metaKey) || event.altKey) return;
  const key = event.key.toLowerCase();
  const way = key === "y" || (key === "z" && event.shiftKey) ? "redo" : key === "z" ? "undo" : "";
  if (key === "s" && canChange()) save();
  else if (way && !isText && !(byId(way).disabled && changes.isIdle)) goBack(way);
  else return;
  event.preventDefault();
});

let resized = 0;
const sized = new ResizeObserver(() => {
  clearTimeout(resized);
  resized = setTimeout(() => {
    askCuts(Object.keys(panes).filter((name) => !panes[name].isSized()));
    if (round.view) round.view.draw();
    if (round.orbit) round.orbit.reframe();
  }, 60);
});
for (const each of document.querySelectorAll(".sheet, .stage")) sized.observe(each);
