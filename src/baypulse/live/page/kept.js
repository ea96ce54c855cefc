// Settings that are kept to compare: up to four, beside the present one, with what differs.
import { by, make } from "./dom.js";
import { LOOKS } from "./charts.js";

export const MOST = LOOKS.length;

function differing(kept, now) {
  const all = [...kept.map((each) => each.typed), now];
  const paths = [...new Set(all.flatMap((each) => Object.keys(each)))].sort();
  return paths.filter((path) => new Set(all.map((each) => each[path] ?? "")).size > 1);
}

export function showKept(bay, answer, dropped) {
  const { kept } = bay;
  by("keep").disabled = kept.length >= MOST;
  if (!kept.length || !answer) {
    by("kept").replaceChildren();
    return;
  }
  const columns = [...kept, { typed: { ...bay.typed }, answer, values: bay.values }];
  const row = (name, texts) => make("tr", {}, make("th", { scope: "row" }, name), ...texts.map((text) => make("td", {}, text)));
  const head = make("tr", {}, make("td"), ...kept.map((each, k) => {
    const swatch = make("span", { class: "swatch" });
    const { color, dash } = LOOKS[k];
    swatch.style.background = `repeating-linear-gradient(90deg, ${color} 0 ${dash[0]}px, transparent ${dash[0]}px ${dash[0] + dash[1]}px)`;
    return make("th", { scope: "col" }, `kept ${"ABCD"[k]}`, swatch,
      make("button", { type: "button", onclick: () => dropped(k) }, "drop"));
  }), make("th", { scope: "col" }, "now"));
  const names = [...new Set(columns.flatMap((each) => each.answer.numbers.map((number) => number.name)))];
  const typed = differing(kept, bay.typed).map((path) =>
    row(path.replaceAll("_", " ").replaceAll(".", " "), columns.map((each) => each.typed[path] ?? each.values[path] ?? "as before")));
  const numbers = names.map((name) =>
    row(name, columns.map((each) => each.answer.numbers.find((number) => number.name === name)?.text ?? "-")));
  by("kept").replaceChildren(make("thead", {}, head), make("tbody", {},
    row("verdict", columns.map((each) => each.answer.verdict.words)), ...typed, ...numbers));
}
