// The strip of charges with its slider, and the sliders below.
import { by, make } from "./dom.js";

const CLASSES = ["little", "test", "much", "both"];

// The slider of the charge: its places, their texts and what is said of each come from the server.
export class ChargeSlider {
  constructor(changed) {
    this.control = by("charge");
    this.steps = [];
    this.control.addEventListener("input", () => {
      if (!this.steps.length) return; // its places are not known yet
      const k = Number(this.control.value);
      this.name(this.texts[k]);
      changed(this.path, this.steps[k]);
    });
  }

  name(text) {
    by("charge-text").textContent = text;
    this.control.setAttribute("aria-valuetext", text);
  }

  show(strip, at) {
    const last = Math.max(strip.steps.length - 1, 1);
    this.path = strip.path;
    this.steps = strip.steps;
    this.texts = strip.texts;
    this.control.max = last;
    const typed = strip.steps.indexOf(at);
    const k = typed >= 0 ? typed : Math.round(strip.at * last);
    this.control.value = k;
    this.name(typed >= 0 ? strip.texts[k] : strip.told);
    const drawn = strip.said.map((part) => {
      const from = Math.max(part.from - 0.5, 0), to = Math.min(part.to + 1.5, last);
      const piece = make("div", { class: CLASSES.includes(part.word) ? part.word : "" }, make("span", {}, strip.words[part.word]));
      piece.style.left = `${(100 * from) / last}%`;
      piece.style.width = `${(100 * (to - from)) / last}%`;
      piece.title = strip.words[part.word];
      return piece;
    });
    by("strip").replaceChildren(...drawn);
    by("strip").setAttribute("aria-label", strip.headline);
    by("strip-marks").replaceChildren(...strip.marks.map((mark) => {
      const named = make("span", { class: mark.at > 0.5 ? "left" : "" }, mark.text);
      named.style.left = `${100 * mark.at}%`;
      return named;
    }));
    by("strip-said").textContent = strip.headline;
    by("strip-explained").textContent = strip.explained;
  }
}

// The other sliders. A place of a slider is a text of the case file.
export function showSliders(sliders, changed) {
  by("sliders").replaceChildren(...sliders.map((slider) => {
    const id = `slider-${slider.name}`;
    const told = make("output", { for: id }, slider.told);
    const control = make("input", {
      id, type: "range", min: 0, max: slider.steps.length - 1, value: slider.at ?? 0,
      "aria-valuetext": told.textContent,
      oninput: () => {
        const k = Number(control.value);
        told.textContent = slider.texts[k];
        control.setAttribute("aria-valuetext", slider.texts[k]);
        changed(slider, slider.steps[k]);
      },
    });
    return make("div", { class: "slider" }, make("label", { for: id }, `${slider.label}: `), told, control);
  }));
}
