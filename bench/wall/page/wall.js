"use strict";
// Draws moments of the bench. Words from outside are only ever set as text; nothing here can ask the bench to do anything.
const at = (id) => document.getElementById(id);
const SVG = "http://www.w3.org/2000/svg";
const RIM = 92;
let heard = 0;
let running = false;

function put(id, words, kind) {
  const place = at(id);
  if (place.textContent !== words) place.textContent = words;
  if (kind !== undefined) place.className = kind;
}

function shape(name, attributes, words) {
  const made = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
  if (words !== undefined) made.textContent = words;
  return made;
}

// zero at the top, angles to the left: counter-clockwise, seen from the front
function spot(amount, angle, most) {
  const far = RIM * Math.sqrt(Math.min(amount / most, 1));
  const turn = (angle * Math.PI) / 180;
  return [100 - far * Math.sin(turn), 100 - far * Math.cos(turn)];
}

function picture(plane) {
  const runs = plane.runs.filter((run) => run[1] !== null && run[2] !== null);
  const most = Math.max(4 * (plane.limit || 0.25), ...runs.map((run) => run[1])) * 1.05;
  const svg = shape("svg", { viewBox: "0 0 200 200", role: "img", "aria-label": plane.words });
  svg.append(shape("circle", { class: "rim", cx: 100, cy: 100, r: RIM }));
  svg.append(shape("path", { class: "axis", d: "M100 8V192M8 100H192" }));
  if (plane.limit) svg.append(shape("circle", { class: "zone", cx: 100, cy: 100, r: RIM * Math.sqrt(plane.limit / most) }));
  svg.append(shape("text", { x: 100, y: 6.5 }, "0°"));
  const spots = runs.map((run) => spot(run[1], run[2], most));
  if (spots.length > 1) svg.append(shape("polyline", { class: "path", points: spots.map((s) => s.join(",")).join(" ") }));
  spots.forEach(([x, y], index) => {
    const newest = index === spots.length - 1;
    svg.append(shape("circle", { class: newest ? "newest" : "stop", cx: x, cy: y, r: newest ? 5 : 2.2 }));
    if (newest || index === 0) svg.append(shape("text", { x: x, y: y - 7 }, String(runs[index][0])));
  });
  for (const cut of plane.cuts) {
    if (cut.angle === null) continue;
    const [x, y] = spot(most, cut.angle, most);
    svg.append(shape("circle", { class: "cutmark", cx: x, cy: y, r: 5 }));
  }
  const figure = document.createElement("figure");
  const words = document.createElement("figcaption");
  const kinds = { inside: "good", outside: "bad", "too close to call": "ask" };
  const verdict = document.createElement("div");
  verdict.textContent = plane.words;
  verdict.className = kinds[plane.verdict] || "";
  words.append(verdict);
  for (const cut of plane.cuts) {
    const line = document.createElement("div");
    line.className = "cut";
    const drill = cut.drill ? `, drill ${cut.drill} mm` : "";
    const deep = cut.depth ? `, ${cut.depth.toFixed(1)} mm deep` : "";
    const verb = cut.grams < 0 ? "add" : "take";
    line.textContent = `${verb} ${Math.abs(cut.grams).toFixed(1)} g at ${cut.angle.toFixed(0)}°${drill}${deep}`;
    words.append(line);
  }
  figure.append(svg, words);
  return figure;
}

function rows(sets) {
  return sets.map((set) => {
    const row = document.createElement("tr");
    if (set.out) row.className = "out";
    const spread = set.spread === null ? "" : `${set.out ? "out: " : ""}spread ${set.spread.toFixed(1)} g`;
    for (const words of [set.label, `${set.done} of ${set.of}`, spread]) {
      const cell = document.createElement("td");
      cell.textContent = words;
      row.append(cell);
    }
    return row;
  });
}

let drawn = { sets: "", planes: "", cautions: "" };
function redraw(name, value, draw) {
  const now = JSON.stringify(value);
  if (now === drawn[name]) return;
  drawn[name] = now;
  draw(value);
}

function show(moment) {
  running = moment.running;
  if (!running) return;
  put("job", moment.job ? `${moment.job.number}  ${moment.job.title}` : "no job is open");
  put("step", moment.step);
  at("simulated").hidden = !moment.simulated;
  put("headline", moment.question || moment.headline);
  put("detail", moment.question ? "" : moment.detail);
  put("shown", moment.live.shown);
  put("unit", moment.live.unit);
  const gone = moment.instruments.map((one) => `${one.name}: ${one.state}`).join(" · ");
  put("phase", gone || moment.live.phase, gone ? "bad" : "");
  const off = moment.live.difference;
  at("difference").hidden = off === null;
  if (off !== null) put("difference", `${off < 0 ? "take off" : "add"} ${Math.abs(off).toFixed(1)} g`);
  put("notice", moment.notice ? moment.notice.words : "", moment.notice ? moment.notice.level : "");
  redraw("cautions", moment.cautions, (all) => at("cautions").replaceChildren(...all.map((words) => {
    const item = document.createElement("li");
    item.textContent = words;
    return item;
  })));
  redraw("sets", moment.sets, (sets) => at("sets").tBodies[0].replaceChildren(...rows(sets)));
  redraw("planes", moment.planes, (planes) => at("planes").replaceChildren(...planes.filter((p) => p.runs.length).map(picture)));
}

function listen() {
  const source = new EventSource("moments");
  source.addEventListener("moment", (event) => { heard = Date.now(); show(JSON.parse(event.data)); tell(); });
  source.addEventListener("beat", () => { heard = Date.now(); tell(); });
  // a source that gave up for good (the server was away while it asked) is made anew
  source.addEventListener("error", () => {
    if (source.readyState === EventSource.CLOSED) setTimeout(listen, 500);
  });
}

function tell() {
  const old = Date.now() - heard > 3000;
  document.body.classList.toggle("away", old || !running);
  put("away", old ? "no connection to the bench: what is shown here is old" : "the bench is not running");
}

listen();
setInterval(tell, 500);
