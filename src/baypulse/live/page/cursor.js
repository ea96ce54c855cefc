// The time cursor: by pointer over a chart against time, or by keyboard on its own control.
import { by } from "./dom.js";

export class Cursor {
  constructor(charts) {
    this.charts = charts;
    this.control = by("cursor");
    this.texts = [];
    this.control.addEventListener("input", () => {
      this.set = true;
      this.show();
    });
    for (const chart of [charts.pressure, charts.speed]) {
      chart.hovered = (x) => this.near(x);
    }
  }

  read(texts) {
    this.texts = texts;
    const last = Math.max(texts.length - 1, 0);
    this.control.max = last;
    if (!this.set) this.control.value = Math.round(last / 3);
    this.show();
  }

  near(x) {
    const times = this.charts.pressure.chart?.line.x ?? [];
    if (!times.length) return;
    let best = 0;
    times.forEach((time, k) => { if (Math.abs(time - x) < Math.abs(times[best] - x)) best = k; });
    this.control.value = best;
    this.set = true;
    this.show();
  }

  show() {
    const k = Number(this.control.value), text = this.texts[k] ?? "";
    by("reading").textContent = text;
    this.control.setAttribute("aria-valuetext", text);
    for (const chart of [this.charts.pressure, this.charts.speed]) {
      const line = chart.chart?.line;
      if (line && k < line.x.length) chart.point(line.x[k], line.y[k]);
    }
  }
}
