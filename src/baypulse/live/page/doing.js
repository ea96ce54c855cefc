// From looking to doing: the studies of the commands, what was seen of a shot, and the log.
import { get, post } from "./ask.js";
import { by, make } from "./dom.js";

// How often a study is asked how far it is, in milliseconds.
const OFTEN = 400;

export class Doing {
  constructor(sightings, draft, saved) {
    this.draft = draft;
    this.saved = saved;
    this.kinds = sightings;
    this.turn = 0;
    for (const button of document.querySelectorAll("[data-study]")) {
      button.addEventListener("click", () => this.begin(button.dataset.study));
    }
    by("stop").addEventListener("click", () => post("stop", {}));
    by("export").addEventListener("click", async () => this.say(await post("export", {}), "export-said"));
    by("add-shot").addEventListener("click", () => this.addShot());
    by("sightings").replaceChildren(...sightings.map((kind) => this.field(kind)));
  }

  // One kind of thing that can be seen: boxes of which one is ticked, or a number.
  field(kind) {
    if (!kind.answers.length) {
      return make("div", { class: "seen" }, make("label", {}, kind.title,
        make("input", { type: "text", "data-seen": kind.word, placeholder: `such as ${kind.example}`, autocomplete: "off" })));
    }
    const boxes = kind.answers.map((answer) => {
      const box = make("input", { type: "checkbox", value: answer, "data-kind": kind.name, onchange: () => {
        if (!box.checked) return;
        document.querySelectorAll(`[data-kind="${kind.name}"]`).forEach((other) => { other.checked = other === box; });
      } });
      return make("label", {}, box, ` ${answer}`);
    });
    return make("fieldset", { class: "seen" }, make("legend", {}, kind.title), ...boxes);
  }

  shot() {
    const boxes = [...document.querySelectorAll("[data-kind]:checked")].map((box) => box.value);
    const typed = [...document.querySelectorAll("[data-seen]")].filter((each) => each.value.trim());
    return {
      saw: [...boxes, ...typed.map((each) => `${each.dataset.seen} ${each.value.trim()}`)],
      charge: by("shot-charge").value.trim(), pins: by("shot-pins").value.trim(), note: by("shot-note").value.trim(),
    };
  }

  async addShot() {
    this.say(await post("add-shot", { ...this.draft(), ...this.shot(), file: this.saved() }), "shot-said");
  }

  say(found, place) {
    by(place).textContent = found?.said ?? found?.refused
      ?? found?.problems?.map((each) => `${each.key}: ${each.text}`).join("; ") ?? "the program does not answer";
  }

  async begin(study) {
    this.turn += 1;
    const turn = this.turn;
    by("report").hidden = true;
    by("export-said").textContent = "";
    const begun = await post("study", { ...this.draft(), ...(study === "why" ? this.shot() : {}), study, file: this.saved() });
    if (!begun?.state) {
      this.say(begun, "task-said");
      return;
    }
    by("stop").hidden = false;
    for (let task = begun; turn === this.turn; task = await get("task")) {
      this.show(task);
      if (task.state !== "working") break;
      await new Promise((next) => { setTimeout(next, OFTEN); });
    }
  }

  show(task) {
    const bar = by("task-bar");
    bar.hidden = task.state !== "working";
    if (task.whole) {
      bar.max = task.whole;
      bar.value = Math.min(task.done, task.whole);
    } else {
      bar.removeAttribute("value");
    }
    by("stop").hidden = task.state !== "working";
    by("task-said").textContent = { working: task.said ? `${task.said}; its report is being made` : `${task.study}: working`, stopped: "stopped" }[task.state] ?? task.said;
    if (task.state !== "done") return;
    by("report").hidden = false;
    by("report-page").src = `report/index.html?${this.turn}`;
    by("report-files").replaceChildren(...task.files.flatMap((file) => [" ",
      make("a", { href: `report/${file}`, target: "_blank", rel: "noopener" }, `print ${file}`)]));
  }
}
