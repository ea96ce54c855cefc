// The fields: what is measured first, and every other key, all from one description.
import { by, make } from "./dom.js";

// What is wrong, beside its field; what has no field is returned.
export function showProblems(problems) {
  document.querySelectorAll(".field").forEach((field) => {
    field.querySelector(".wrong").textContent = "";
    field.querySelectorAll("[data-path]").forEach((each) => each.removeAttribute("aria-invalid"));
  });
  return problems.filter((problem) => {
    const fields = [...document.querySelectorAll("[data-path]")].filter((each) => each.dataset.path === problem.key);
    fields.forEach((each) => {
      each.setAttribute("aria-invalid", "true");
      each.closest(".field").querySelector(".wrong").textContent = problem.text;
    });
    return !fields.some((each) => each.offsetParent);
  });
}

const hint = (key) => key.typical || key.default || `such as ${key.example}`;

const about = (key) => `${key.how}; ${key.range}${key.typical ? `; typical: ${key.typical}` : ""}`;

function entry(path, key, value, changed) {
  const id = `field-${path}`;
  const given = { id, "data-path": path, "aria-describedby": `about-${path}` };
  if (key.options.length) {
    const words = key.options.includes(value) || !value ? key.options : [value, ...key.options];
    const select = make("select", { ...given, onchange: () => changed(path, select.value) },
      make("option", { value: "" }, key.default ? `${key.default} (default)` : "not given"),
      ...words.map((word) => make("option", { value: word, selected: word === value }, word)));
    return select;
  }
  const input = make("input", {
    ...given, type: "text", value, placeholder: hint(key),
    autocomplete: "off", spellcheck: "false", onchange: () => changed(path, input.value.trim()),
  });
  return input;
}

function field(path, label, said, control, id = control.id) {
  return make("div", { class: "field" }, make("label", { for: id }, label), control,
    make("small", { id: `about-${path}` }, said), make("div", { class: "wrong", "aria-live": "polite" }));
}

// Fields stay where they are while somebody types; what is typical beside them may change.
export function showMeasured(fields, bay, changed) {
  const room = by("measured");
  if (room.bay === bay) {
    for (const key of fields) {
      const control = by(`field-${key.path}`);
      control.placeholder = hint(key);
      by(`about-${key.path}`).textContent = about(key);
      if (document.activeElement !== control) control.value = bay.at(key.path, key.typical);
    }
    return;
  }
  room.bay = bay;
  room.replaceChildren(...fields.map((key) => {
    const control = entry(key.path, key, bay.at(key.path, key.typical), changed);
    if (!key.words.length) return field(key.path, key.label, about(key), control);
    const word = make("select", { "data-path": key.word_path, "aria-label": `${key.label}, in a word`,
      onchange: () => changed(key.word_path, word.value) },
      make("option", { value: "" }, "or a word"),
      ...key.words.map((each) => make("option", { value: each, selected: each === bay.typed[key.word_path] }, each)));
    return field(key.path, key.label, about(key), make("div", { class: "both" }, control, word), control.id);
  }));
}

// Rows of a repeated table that the case has or that were added.
function rows(table, bay) {
  const found = [...Object.keys(bay.values), ...Object.keys(bay.typed)]
    .map((path) => path.match(new RegExp(`^${table.name}\\[(\\d+)\\]`))).filter(Boolean).map((match) => Number(match[1]));
  return found.length ? Math.max(...found) + 1 : 0;
}

export function showTables(tables, bay, changed, again) {
  const open = new Set([...document.querySelectorAll("#tables details[open]")].map((each) => each.dataset.name));
  const keys = (table, path) => table.keys.map((key) =>
    field(`${path}.${key.name}`, key.name.replaceAll("_", " "), [key.help, key.range].filter(Boolean).join("; "),
      entry(`${path}.${key.name}`, key, bay.at(`${path}.${key.name}`), changed)));
  const out = (path) => make("button", { type: "button", onclick: () => again(path, null) }, "leave this out");
  const begin = (table, path) => make("button", { type: "button", onclick: () => again(path, table) },
    table.repeated ? "add one" : "add it");
  by("tables").replaceChildren(...tables.map((table) => {
    const inside = [];
    const count = table.repeated ? rows(table, bay) : 1;
    const has = [...Object.keys(bay.values), ...Object.keys(bay.typed)].some((path) => path.startsWith(`${table.name}.`));
    for (let k = 0; k < count; k += 1) {
      const path = table.repeated ? `${table.name}[${k}]` : table.name;
      if (table.optional && !table.repeated && !has) inside.push(begin(table, path));
      else inside.push(...keys(table, path), ...(table.optional ? [out(path)] : []));
    }
    if (table.repeated) inside.push(begin(table, `${table.name}[${count}]`));
    return make("details", { "data-name": table.name, open: open.has(table.name) },
      make("summary", {}, table.title), make("p", { class: "said" }, table.help), ...inside);
  }));
}
