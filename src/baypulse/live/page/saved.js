// The saved page: everything was computed and written beforehand; this shows the place of the sliders.
import { openCharts } from "./charts.js";
import { ChargeSlider, showSliders } from "./controls.js";
import { by, list, make, picture } from "./dom.js";

const data = JSON.parse(by("data").textContent);
const place = { pins: data.pins.at, quickness: data.quickness.at, charge: null };

const charts = await openCharts(["peak", "speed"]);
const charge = new ChargeSlider((path, text) => {
  place.charge = data.strips[place.pins].steps.indexOf(text);
  show();
});

function show() {
  const strip = data.strips[place.pins], lanes = data.lanes[place.pins], lane = lanes[place.quickness];
  const [words, shape] = lane.verdicts[place.charge];
  by("verdict").dataset.shape = shape;
  document.querySelector(".shape use").setAttribute("href", `#shape-${shape}`);
  by("headline").textContent = words;
  by("charge-said").textContent = strip.texts[place.charge];
  by("numbers").replaceChildren(...lane.numbers[place.charge].map(([name, text]) =>
    make("tr", {}, make("th", { scope: "row" }, name), make("td", {}, text))));
  for (const [name, chart] of Object.entries(charts)) {
    chart.draw(lane.charts[name], [lanes[0], lanes.at(-1)].map((each) => each.charts[name]));
    // a charge that does not separate the joint has no speed
    const { line } = lane.charts[name], k = line.x.indexOf(lane.charts.peak.line.x[place.charge]);
    chart.point(line.x[k], line.y[k]);
  }
  document.body.dataset.drawn = `${place.pins} ${place.quickness} ${place.charge}`;
}

function restrip() {
  const strip = data.strips[place.pins];
  place.charge ??= Math.round(strip.at * (strip.steps.length - 1));
  charge.show(strip, strip.steps[place.charge]);
  picture("drawing", data.drawings[place.pins]);
  show();
}

by("title").textContent = data.title;
by("caution").textContent = data.caution;
by("interpolation").textContent = data.interpolation;
by("made").textContent = data.made;
list("reasons", data.doubts);
const slider = (name, label, { texts, at }) => ({ name, label, steps: texts, texts, at, told: texts[at] });
showSliders([slider("pins", "number of pins", data.pins), slider("quickness", "powder burns", data.quickness)],
  (moved, text) => {
    place[moved.name] = moved.texts.indexOf(text);
    restrip();
  });
restrip();
