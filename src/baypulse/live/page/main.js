// The page: what is changed is asked about at once, the slower answers when the hand rests.
import { get, Latest, post } from "./ask.js";
import { openCharts } from "./charts.js";
import { ChargeSlider, showSliders } from "./controls.js";
import { Cursor } from "./cursor.js";
import { by, list, make, picture } from "./dom.js";
import { Doing } from "./doing.js";
import { showMeasured, showProblems, showTables } from "./fields.js";
import { showKept } from "./kept.js";
import { Bay } from "./state.js";

// How long the hand rests before the slower questions are asked, in milliseconds.
const REST = 250;

const bays = [];
let bay = null, system = "", number = 0, rest = 0, rested = 0, answered = 0, answer = null, form = null, strip = null, problems = [];
// Fields to be shown anew: a change that came after them may have left them unanswered.
let formDue = false;

// The first answer is asked for at once, and is there when the charts are.
const starting = get("start");
let charts = null, cursor = null, opening = null;
const charge = new ChargeSlider((path, text) => { bay.put(path, text); changed({ strip: false }); });

const answers = new Latest("answer", async (found, asked) => { await opening; showAnswer(found, asked); });
const mores = new Latest("more", (found) => { if (current(found)) showMore(found); });
const strips = new Latest("strip", (found) => { if (current(found)) showStrip(found); });
const bands = new Latest("band", (found) => { if (current(found)) showBand(found); });
const forms = new Latest("form", showForm);

const current = (found) => found.number === number && !found.problems && !found.refused;

// Asks what follows from the page as it is; the strip only where more than the charge has changed.
function changed({ strip: other = true, form: fields = false } = {}) {
  number += 1;
  const now = number, draft = bay.draft(system);
  performance.mark(`change-${now}`);
  answers.ask(now, draft);
  formDue ||= fields;
  if (formDue) forms.ask(now, draft);
  if (other) strip = null;
  clearTimeout(rest);
  rest = setTimeout(() => {
    rested = now;
    askSlower(now);
  }, REST);
}

// What takes longer is asked when the hand rests and the answer itself is drawn.
function askSlower(now) {
  if (rested !== now || answered !== now) return;
  const draft = bay.draft(system);
  mores.ask(now, draft);
  if (!strip) strips.ask(now, draft);
  bands.ask(now, draft);
}

function showAnswer(found, asked) {
  problems = found.problems ?? (found.refused ? [{ key: "", text: found.refused }] : []);
  showWrong();
  document.querySelector(".charts").classList.toggle("stale", problems.length > 0);
  if (problems.length) {
    by("verdict").dataset.shape = "open";
    by("headline").textContent = "Not understood yet";
    by("charge-said").textContent = "The curves are those of the last setting that was understood.";
    document.querySelector(".shape use").setAttribute("href", "#shape-open");
    return;
  }
  answer = found;
  by("verdict").dataset.shape = found.verdict.shape;
  document.querySelector(".shape use").setAttribute("href", `#shape-${found.verdict.shape}`);
  by("headline").textContent = found.verdict.words;
  by("charge-said").textContent = found.charge;
  by("caution").textContent = found.caution;
  picture("drawing", found.drawing);
  by("numbers").replaceChildren(...found.numbers.map((each) =>
    make("tr", {}, make("th", { scope: "row" }, each.name), make("td", {}, each.text))));
  list("reasons", [...found.verdict.reasons, ...found.doubts.map((each) => `${each.key}: ${each.text}`)]);
  draw();
  if (asked !== bay.banded) {
    for (const chart of Object.values(charts)) chart.shade(null);
    by("band-name").textContent = "";
    list("chances", []);
  }
  performance.mark(`drawn-${asked}`);
  document.body.dataset.drawn = asked;
  answered = asked;
  askSlower(asked);
}

// What is wrong stands beside its field, or above the curves where it has none in sight.
function showWrong() {
  const elsewhere = showProblems(problems);
  by("problems").hidden = !elsewhere.length;
  by("problems").replaceChildren(...elsewhere.map(({ key, line, text }) =>
    make("p", {}, `${line ? `line ${line}: ` : ""}${key ? `${key}: ` : ""}${text}`)));
}

function draw() {
  for (const [name, chart] of Object.entries(charts)) {
    chart.draw(answer.charts[name], bay.kept.map((each) => each.answer.charts[name]));
  }
  cursor.show();
  showKept(bay, answer, (k) => { bay.kept.splice(k, 1); draw(); });
}

function showMore(found) {
  const doubts = answer.doubts.map((each) => `${each.key}: ${each.text}`);
  list("reasons", [...found.reasons, ...doubts]);
  list("next", found.next);
  cursor.read(found.readings);
  document.body.dataset.read = found.number;
}

function showStrip(found) {
  strip = found;
  charge.show(found, bay.at(found.path));
}

function showBand(found) {
  bay.banded = found.number;
  for (const [name, chart] of Object.entries(charts)) chart.shade(found.charts[name]);
  by("band-name").textContent = found.name;
  list("chances", found.said);
  document.body.dataset.banded = found.number;
}

function showForm(found) {
  if (found.problems || found.refused) return; // the answer says what is wrong, the fields stay
  formDue = false;
  form = found;
  bay.values = found.values;
  for (const each of document.querySelectorAll("input[name=units]")) each.checked = each.value === found.system;
  showMeasured(found.measured, bay, typed);
  showSliders(found.sliders, slid);
  showPins();
  if (by("more").open && (by("tables").bay !== bay || by("tables").names !== namesOfTables())) openTables();
  showWrong();
}

// Another word of the library brings other numbers with it.
const namesOfTables = () => form.tables.map((each) => each.name).join();

function openTables() {
  by("tables").bay = bay;
  by("tables").names = namesOfTables();
  showTables(form.tables, bay, typed, grown);
}

function showPins() {
  const pins = form.tables.find((each) => each.name === "pins");
  for (const [id, name] of [["thread", "thread"], ["material", "material"]]) {
    const key = pins.keys.find((each) => each.name === name);
    const at = bay.at(`pins.${name}`) || key.default || key.example;
    by(id).replaceChildren(...key.options.map((word) => make("option", { value: word, selected: word === at }, word)));
  }
}

// A field was typed: what is typical for the others may follow.
function typed(path, text) {
  bay.put(path, text);
  changed({ form: true });
}

function slid(slider, text) {
  if (slider.row && text === "") {
    for (const path of [slider.path, ...Object.keys(slider.also)]) delete bay.typed[path];
    if (bay.values[slider.path] === undefined) delete bay.typed[slider.row];
    else bay.typed[slider.row] = "";
  } else {
    if (slider.row) delete bay.typed[slider.row];
    for (const [path, needed] of Object.entries(slider.also ?? {})) bay.put(path, needed);
    bay.put(slider.path, text);
  }
  changed();
}

// A table or a row was added, with the examples of what it must have, or left out.
function grown(path, table) {
  for (const each of Object.keys(bay.typed)) {
    if (each === path || each.startsWith(`${path}.`)) delete bay.typed[each];
  }
  if (table) {
    for (const key of table.keys.filter((each) => each.required)) bay.typed[`${path}.${key.name}`] = key.example;
    if (table.name === "openings") bay.typed[`${path}.diameter`] = table.keys.find((each) => each.name === "diameter").example;
  } else if (Object.keys(bay.values).some((each) => each.startsWith(`${path}.`))) {
    bay.typed[path] = "";
  }
  by("tables").bay = null; // its fields are made anew
  changed({ form: true });
}

function showBays() {
  by("bays").replaceChildren(...bays.map((each) => make("button", {
    type: "button", role: "tab", "aria-selected": String(each === bay), onclick: () => choose(each),
  }, each.name)));
}

function choose(other) {
  bay = other;
  strip = null;
  by("file").value = bay.file || "";
  showBays();
  changed({ form: true });
}

function begin(started) {
  bays.splice(0, bays.length, ...(started.length ? started : [{ name: "my-bay", text: null, file: "" }]).map((each) => new Bay(each)));
  by("add-bay").hidden = bays[0].text !== null;
  choose(bays[0]);
}

by("open").addEventListener("change", async (event) => {
  if (!event.target.value) return;
  const found = await post("open", { file: event.target.value });
  event.target.value = "";
  if (found?.bays) {
    system = "";
    begin(found.bays);
  } else {
    by("problems").hidden = false;
    by("problems").replaceChildren(...(found?.refused ?? "the file cannot be opened").split("\n").map((line) => make("p", {}, line)));
  }
});

by("add-bay").addEventListener("click", () => {
  const added = new Bay({ name: `bay-${bays.length + 1}`, text: null, file: "" });
  // the bays of one airframe share its tube
  for (const path of ["bay.bore", "bay.wall", "bay.wall_thickness", "pins.thread"]) {
    if (bays[0].typed[path]) added.typed[path] = bays[0].typed[path];
  }
  bays.push(added);
  choose(added);
});

by("save").addEventListener("click", async () => {
  const found = await post("save", { ...bay.draft(system), file: by("file").value.trim() });
  by("save-said").textContent = found?.said ?? found?.refused
    ?? (found?.problems ?? []).map((each) => `${each.key}: ${each.text}`).join("; ") ?? "";
  if (!found?.bays) return;
  const kept = bay.kept;
  Object.assign(bay, found.bays[0], { typed: {}, kept });
  by("measured").bay = by("tables").bay = null;
  showBays();
  changed({ form: true });
});

by("keep").addEventListener("click", () => {
  if (!answer) return;
  bay.kept.push({ typed: { ...bay.typed }, values: { ...bay.values }, answer });
  by("keep-said").textContent = `kept as ${"ABCD"[bay.kept.length - 1]}`;
  draw();
});

for (const each of document.querySelectorAll("input[name=units]")) {
  each.addEventListener("change", () => {
    system = each.value;
    // curves in other units cannot stand beside each other
    if (bays.some((other) => other.kept.length)) by("keep-said").textContent = "the kept settings went with their units";
    for (const other of bays) other.kept = [];
    changed({ form: true });
  });
}
for (const [id, path] of [["thread", "pins.thread"], ["material", "pins.material"]]) {
  by(id).addEventListener("change", (event) => { bay.put(path, event.target.value); changed(); });
}
by("more").addEventListener("toggle", () => {
  if (by("more").open && form) openTables();
});

const started = await starting;
by("caution").textContent = started.caution;
by("open").append(...started.files.map((file) => make("option", { value: file }, file)));
new Doing(started.sightings, () => bay.draft(system), () => bay.file);
// the program ends when this connection does
const here = new EventSource("here");
here.onerror = () => { by("gone").hidden = false; };
here.onopen = () => { by("gone").hidden = true; };
begin(started.bays);
opening = openCharts(["pressure", "travel", "speed", "cord"]).then((found) => {
  charts = found;
  cursor = new Cursor(charts);
});
