// What the page holds of each bay: the text it began with, and what was typed since.

export class Bay {
  constructor({ name, text, file }) {
    this.name = name;
    this.text = text;
    this.file = file;
    this.typed = {};
    this.values = {};
    this.kept = [];
  }

  // What the server is asked about.
  draft(system) {
    return { name: this.name, text: this.text, typed: this.typed, system };
  }

  // What stands at a path: as typed, else as the case has it, unless that is only what is typical.
  at(path, typical = "") {
    const held = this.values[path] === typical ? "" : this.values[path];
    return this.typed[path] ?? held ?? "";
  }

  put(path, text) {
    if (text === "" && this.values[path] === undefined) delete this.typed[path];
    else this.typed[path] = text;
  }
}
