// The four charts: what is drawn, its numbers and its words come from the server; this draws them.

const INK = "#1b1f27", SOFT = "#515a68", DEEP = "#123f63", WARM = "#a8471b";

// Settings that are kept, each by colour and dashes.
export const LOOKS = [
  { color: "#a8471b", dash: [8, 4] },
  { color: "#3d7a8c", dash: [2, 3] },
  { color: "#6a5f2b", dash: [10, 3, 2, 3] },
  { color: "#515a68", dash: [4, 2, 1, 2] },
];

const FONT = { text_font: "system-ui, sans-serif", text_font_size: "13px" };
const PAPER = { background_fill_color: "#ffffff", background_fill_alpha: 0.8 };
const NOTHING = { x: [], y: [] };

// Puts data into a source; what is the same already is not drawn again.
function put(source, data) {
  const key = JSON.stringify(data);
  if (source.drawn === key) return;
  source.drawn = key;
  source.data = data;
}

class Chart {
  constructor(name, room) {
    this.name = name;
    const { Range1d, ColumnDataSource, Plotting } = Bokeh;
    this.x = new Range1d({ start: 0, end: 1 });
    this.y = new Range1d({ start: 0, end: 1 });
    const plot = Plotting.figure({
      x_range: this.x, y_range: this.y, sizing_mode: "stretch_both", tools: [],
      toolbar_location: null, outline_line_color: null, min_border_left: 8, min_border_right: 14,
    });
    this.plot = plot;
    const source = (data) => new ColumnDataSource({ data });
    this.band = source({ x: [], low: [], high: [] });
    plot.varea({ field: "x" }, { field: "low" }, { field: "high" }, {
      source: this.band, fill_color: "#e6edf3", fill_alpha: 0.9, hatch_pattern: "/", hatch_color: "#8aa4b8",
      hatch_scale: 8, hatch_weight: 1,
    });
    this.kept = LOOKS.map((look) => {
      const held = source(NOTHING);
      plot.line({ field: "x" }, { field: "y" }, { source: held, line_color: look.color, line_dash: { value: look.dash }, line_width: 2 });
      return held;
    });
    this.levels = source({ x0: [], x1: [], y: [], text: [], baseline: [] });
    plot.segment({ field: "x0" }, { field: "y" }, { field: "x1" }, { field: "y" }, {
      source: this.levels, line_color: WARM, line_dash: { value: [6, 4] }, line_width: 1.6,
    });
    this.marks = source({ x: [], y0: [], y1: [], text: [] });
    plot.segment({ field: "x" }, { field: "y0" }, { field: "x" }, { field: "y1" }, {
      source: this.marks, line_color: SOFT, line_dash: { value: [3, 3] }, line_width: 1.2,
    });
    plot.text({ field: "x" }, { field: "y1" }, { field: "text" }, {
      source: this.marks, text_color: SOFT, angle: -Math.PI / 2, text_baseline: "bottom",
      text_align: "left", x_offset: 3, y_offset: 4, ...FONT, ...PAPER,
    });
    // over the marks' names: the level is what the curve is read against
    plot.text({ field: "x1" }, { field: "y" }, { field: "text" }, {
      source: this.levels, text_color: WARM, text_align: "right", text_baseline: { field: "baseline" }, x_offset: -4, ...FONT,
      ...PAPER,
    });
    this.line = source(NOTHING);
    plot.line({ field: "x" }, { field: "y" }, { source: this.line, line_color: DEEP, line_width: 3 });
    this.cursor = source({ x: [], y: [], y0: [], y1: [] });
    plot.segment({ field: "x" }, { field: "y0" }, { field: "x" }, { field: "y1" }, {
      source: this.cursor, line_color: INK, line_width: 1.5,
    });
    plot.scatter({ field: "x" }, { field: "y" }, { source: this.cursor, size: 10, fill_color: INK, line_color: "#ffffff" });
    this.said = source({ x: [], y: [], text: [] });
    plot.text({ field: "x" }, { field: "y" }, { field: "text" }, {
      source: this.said, text_color: SOFT, text_align: "center", text_baseline: "middle", ...FONT, text_font_size: "15px",
    });
    for (const axis of [plot.xaxis, plot.yaxis].flatMap((each) => [...each])) {
      axis.major_label_text_font_size = "13px";
      axis.axis_label_text_font_size = "13px";
      axis.axis_label_text_font_style = "normal";
      axis.axis_label_text_color = SOFT;
      axis.major_label_text_color = INK;
      axis.minor_tick_line_color = null;
      axis.axis_label_standoff = 2;
    }
    this.room = room;
    this.plot.on_event("mousemove", (event) => this.hovered?.(event.x));
  }

  async open() {
    await Bokeh.Plotting.show(this.plot, this.room);
  }

  // Draws one setting, and those that are kept beside it.
  draw(chart, kept) {
    const all = [chart, ...kept];
    // of several settings the widest scale holds them all
    const wide = (side) => all.map((each) => each[side]).reduce((one, two) => (two.high > one.high ? two : one));
    const x = this.scale("xaxis", this.x, wide("x")), y = this.scale("yaxis", this.y, wide("y"));
    this.chart = chart;
    put(this.line, chart.line);
    this.kept.forEach((held, k) => { put(held, kept[k] ? kept[k].line : NOTHING); });
    const levels = chart.levels.filter((each) => each.at <= y.high);
    // names of marks hang from above: a level up there has its text below it
    const upright = levels.map((each) => (each.at > 0.7 * y.high ? "top" : "bottom"));
    put(this.levels, {
      x0: levels.map(() => x.low), x1: levels.map(() => x.high), y: levels.map((each) => each.at),
      text: levels.map((each) => each.text), baseline: upright,
    });
    put(this.marks, {
      x: chart.marks.map((each) => each.at), y0: chart.marks.map(() => y.low),
      y1: chart.marks.map(() => y.high), text: chart.marks.map((each) => each.text),
    });
    put(this.said, chart.empty
      ? { x: [(x.low + x.high) / 2], y: [(y.low + y.high) / 2], text: [chart.empty] }
      : { x: [], y: [], text: [] });
  }

  scale(side, range, axis) {
    range.setv({ start: axis.low, end: axis.high });
    const key = JSON.stringify(axis);
    this.drawn ??= {};
    if (this.drawn[side] === key) return axis;
    this.drawn[side] = key;
    for (const each of this.plot[side]) {
      each.setv({
        ticker: new Bokeh.FixedTicker({ ticks: axis.ticks }),
        major_label_overrides: new Map(axis.ticks.map((place, k) => [place, axis.texts[k]])),
        axis_label: axis.label,
      });
    }
    return axis;
  }

  shade(band) {
    put(this.band, band ? { x: band.x, low: band.low, high: band.high } : { x: [], low: [], high: [] });
  }

  point(x, y) {
    const there = x === undefined ? [] : [x];
    put(this.cursor, {
      x: there, y: there.map(() => y), y0: there.map(() => this.y.start), y1: there.map(() => this.y.end),
    });
  }
}

// Charts by name, drawn into their rooms.
export async function openCharts(names) {
  const found = {};
  for (const name of names) {
    found[name] = new Chart(name, document.getElementById(`chart-${name}`));
  }
  await Promise.all(Object.values(found).map((chart) => chart.open()));
  return found;
}
