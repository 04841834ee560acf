const data = JSON.parse(document.getElementById("data").textContent);
const [query, found, close, count, told, turn, stand, view, plan, tongue, compass] =
  ["query", "found", "close", "count", "told", "turn", "stand", "view", "plan", "tongue", "compass"].map(id => document.getElementById(id));
const MOST = 60, EYE = 1600, PERSON = 1720, MARK = "#0b6254";
const [NAME, TAG, LEAF, KEY, SIDE, LIMB, OUT] = [0, 1, 2, 3, 4, 5, 6];
const WINDS = ["N", "NE", "E", "SE", "S", "SW", "W", "NW"], ALIKE = 6;
document.querySelector("h1").textContent = data.title;

let chosen = null;
const spread = (() => {
  let most = 1000;
  for (let i = 0; i < data.leaves.length; i += 3) most = Math.max(most, Math.hypot(data.leaves[i], data.leaves[i + 1]));
  for (const m of data.members) for (let i = 3; i < m.length; i += 3) most = Math.max(most, Math.hypot(m[i], m[i + 1]));
  return most;
})();
// Far enough back to take in the tree and the place under its outermost leaf.
const away = spread + Math.max(2.2 * spread, 1.3 * data.height), RIM = 0.72 * spread;

const keys = data.names.map(n => n[KEY].split("|"));

// The visitor's language: as the browser asks, or as chosen on the page.
function spoken() {
  const asked = (navigator.languages || []).map(tag => tag.toLowerCase().split("-")[0]);
  return asked.find(tag => tag in data.words) || "en";
}

let words = data.words[spoken()];

function said(key, put = {}) { return words[key].replace(/\{(\w+)\}/g, (all, name) => name in put ? String(put[name]) : all); }

function length_text(mm) {
  if (words.feet && data.units === "inch") {
    const inches = Math.floor(mm / 25.4 + 0.5);
    return `${Math.floor(inches / 12)} ft ${inches % 12} in`;
  }
  const one = {minimumFractionDigits: 1, maximumFractionDigits: 1};
  return `${(mm / 1000).toLocaleString(words.feet ? "en" : document.documentElement.lang, one)} m`;
}

function ways(typed) { return [folded(typed), ...romanised(typed, data.letters).map(folded)].filter(Boolean); }

function matches(typed) {
  const bare = typed.trim().toLowerCase(), asked = ways(typed).map(way => way.split(" "));
  if (!bare) return data.names;
  // What is typed exactly comes first, then what is alike but for accents, capitals, order and script.
  const exact = data.names.filter(n => n[NAME].toLowerCase().includes(bare) || n[TAG].toLowerCase() === bare);
  const same = data.names.filter((n, k) => keys[k].some(key => asked.some(all => all.every(w => key.includes(w)))));
  return exact.concat(same.filter(n => !exact.includes(n)));
}

// Names that somebody may have meant: the heading's key, and the names.
function meant(typed, rows) {
  const asked = ways(typed);
  if (!asked.some(way => way.length > 1) || rows.length > ALIKE) return ["near", []];
  const near = alike(asked, keys).map(k => data.names[k]).filter(n => !rows.includes(n)).slice(0, ALIKE);
  if (near.length || rows.length) return ["near", near];
  return ["nearest", nearest(asked, keys, ALIKE).map(k => data.names[k])];
}

function list() {
  const rows = matches(query.value), [head, near] = meant(query.value, rows);
  found.replaceChildren(...rows.slice(0, MOST).map(row));
  close.replaceChildren(...near.map(row));
  close.previousElementSibling.textContent = near.length ? said(head) : "";
  found.parentElement.scrollTop = 0;
  count.textContent = rows.length === 0 ? said("none") : rows.length === 1 ? said("one") : said(rows.length > MOST ? "first" : "many", {n: rows.length, most: MOST});
}

function row(name) {
  const item = document.createElement("li"), button = document.createElement("button");
  const text = document.createElement("bdi"), tag = document.createElement("span");
  text.textContent = name[NAME];
  tag.textContent = name[TAG];
  button.type = "button";
  button.dataset.tag = name[TAG];
  button.setAttribute("aria-pressed", String(chosen === name));
  button.append(text, tag);
  button.addEventListener("click", () => choose(name));
  item.append(button);
  return item;
}

function place(leaf) { return data.leaves.slice(3 * leaf, 3 * leaf + 3); }

function sisters() { return chosen ? data.names.filter(n => n !== chosen && n[NAME].toLowerCase() === chosen[NAME].toLowerCase()) : []; }

function choose(name) {
  chosen = name;
  const [x, y] = place(name[LEAF]);
  // Stand on the leaf's own side of the tree.
  turn.value = String(((Math.round(Math.atan2(y, x) * 180 / Math.PI) % 360) + 360) % 360);
  tell(name);
  document.body.classList.add("chosen");
  for (const b of document.querySelectorAll(".lists button")) b.setAttribute("aria-pressed", String(b.dataset.tag === name[TAG]));
  draw();
  if (window.matchMedia("(max-width:800px)").matches) {
    // The keyboard of a phone goes, and the answer comes into view.
    told.focus({preventScroll: true});
    told.scrollIntoView({block: "start"});
  }
}

// A mark that answers no longer what is typed would send somebody to a stranger's leaf.
function forget() {
  if (!chosen || matches(query.value).includes(chosen)) return;
  chosen = null;
  told.replaceChildren();
  draw();
}

function tell(name) {
  const head = document.createElement("h2"), who = document.createElement("bdi");
  who.textContent = name[NAME];
  head.append(who);
  const [x, y, z] = place(name[LEAF]), limb = data.limbs[name[LIMB]], side = words.sides[WINDS.indexOf(name[SIDE])];
  const where = limb && name[LIMB] !== "T" ? said("limb", {limb: name[LIMB], side: words.sides[WINDS.indexOf(limb)]}) : said("trunk");
  const lines = [
    said("height", {where, height: length_text(z), reach: said(z <= data.reach ? "within" : "beyond")}),
    said("side", {side, out: words.outs[name[OUT]], tag: name[TAG]}),
    said("way", {distance: length_text(Math.hypot(x, y)), side}),
  ].map(text => Object.assign(document.createElement("p"), {textContent: text}));
  const keep = Object.assign(document.createElement("button"), {type: "button", textContent: said("keep"), className: "keep"});
  keep.addEventListener("click", save);
  told.replaceChildren(head, ...lines, ...more(), keep);
}

function more() {
  const others = sisters();
  if (!others.length) return [];
  const line = Object.assign(document.createElement("p"), {className: "more", textContent: said(others.length > 1 ? "sames" : "same")});
  others.forEach((other, k) => {
    const button = Object.assign(document.createElement("button"), {type: "button", textContent: other[TAG]});
    button.addEventListener("click", () => choose(other));
    line.append(k ? ", " : "", button);
  });
  line.append(said("rings"));
  return [line];
}

function wind(degrees) {
  // Degrees run from east to north; winds from north to east.
  return words.sides[Math.round((810 - degrees) % 360 / 45) % 8];
}

function camera(width, height) {
  const a = Number(turn.value) * Math.PI / 180, c = Math.cos(a), s = Math.sin(a);
  const low = -EYE / (away - spread), high = (data.height * 1.02 - EYE) / (away - 0.4 * spread);
  const scale = Math.min(0.95 * height / (high - low), 0.96 * width / (2.1 * spread / (away - 0.25 * spread)));
  const floor = height - 0.02 * height + low * scale;
  return (x, y, z) => {
    const depth = away - (x * c + y * s);
    return [width / 2 + scale * (y * c - x * s) / depth, floor - scale * (z - EYE) / depth, scale / depth];
  };
}

function draw() {
  const ratio = window.devicePixelRatio || 1, width = view.clientWidth, height = view.clientHeight;
  view.width = Math.max(1, Math.round(width * ratio));
  view.height = Math.max(1, Math.round(height * ratio));
  const pen = view.getContext("2d"), at = camera(width, height);
  pen.setTransform(ratio, 0, 0, ratio, 0, 0);
  pen.lineCap = pen.lineJoin = "round";
  ground(pen, at);
  person(pen, at);
  tree(pen, at);
  for (const other of sisters()) ring(pen, at, other[LEAF], 1.5, 5);
  if (chosen) mark(pen, at, width);
  const here = Number(turn.value);
  stand.textContent = said("stand", {here: wind(here), there: wind(here + 180)});
  view.setAttribute("aria-label", chosen ? said("marked", {tag: chosen[TAG]}) : said("view"));
  map();
}

function ground(pen, at) {
  pen.beginPath();
  for (let k = 0; k <= 72; k++) {
    const a = k * Math.PI / 36, [x, y] = at(RIM * Math.cos(a), RIM * Math.sin(a), 0);
    k ? pen.lineTo(x, y) : pen.moveTo(x, y);
  }
  pen.fillStyle = "rgba(96,84,62,.09)";
  pen.fill();
  pen.fillStyle = "#857a6d";
  pen.font = "13px Georgia, serif";
  pen.textAlign = "center";
  for (const [sign, x, y] of rose()) {
    const [px, py] = at(0.9 * RIM * x, 0.9 * RIM * y, 0);
    pen.fillText(sign, px, py + 4);
  }
  pen.textAlign = "left";
}

function rose() { return [[0, 1], [1, 0], [0, -1], [-1, 0]].map(([x, y], k) => [words.winds[k], x, y]); }

// The crown from above: trunk, where somebody stands, and the way to the leaf; with a compass, turned as they stand.
let heading = null;
function map() {
  const ratio = window.devicePixelRatio || 1, size = plan.clientWidth, pen = plan.getContext("2d"), r = size / 2 - 16;
  plan.width = plan.height = Math.max(1, Math.round(size * ratio));
  const a = (heading || 0) * Math.PI / 180, c = Math.cos(a), s = Math.sin(a);
  const at = (x, y) => [size / 2 + r * (x * c - y * s) / spread, size / 2 - r * (x * s + y * c) / spread];
  pen.setTransform(ratio, 0, 0, ratio, 0, 0);
  pen.fillStyle = "rgba(96,84,62,.09)";
  pen.beginPath();
  pen.arc(size / 2, size / 2, r, 0, 2 * Math.PI);
  pen.fill();
  pen.fillStyle = "rgba(176,98,54,.35)";
  for (let i = 0; i < data.leaves.length; i += 3) pen.fillRect(...at(data.leaves[i], data.leaves[i + 1]).map(v => v - 0.7), 1.4, 1.4);
  pen.fillStyle = "#5f554b";
  pen.font = "600 12px Georgia, serif";
  pen.textAlign = "center";
  for (const [sign, x, y] of rose()) { const [px, py] = at(spread * x * (r + 8) / r, spread * y * (r + 8) / r); pen.fillText(sign, px, py + 4); }
  dot(pen, at(0, 0), 4, "#3e352e");
  const b = Number(turn.value) * Math.PI / 180;
  dot(pen, at(0.93 * spread * Math.cos(b), 0.93 * spread * Math.sin(b)), 4, "#6b6258");
  for (const other of sisters()) dot(pen, at(...place(other[LEAF])), 2.5, MARK);
  if (chosen) route(pen, at);
  plan.setAttribute("aria-label", chosen ? said("planned", {tag: chosen[TAG], distance: length_text(Math.hypot(...place(chosen[LEAF]).slice(0, 2))), side: words.sides[WINDS.indexOf(chosen[SIDE])]}) : said("plan"));
}

function dot(pen, [x, y], r, colour) {
  pen.fillStyle = colour;
  pen.beginPath();
  pen.arc(x, y, r, 0, 2 * Math.PI);
  pen.fill();
}

function route(pen, at) {
  const [x, y] = at(...place(chosen[LEAF])), [px, py] = at(0, 0);
  pen.strokeStyle = MARK;
  pen.lineWidth = 2;
  pen.beginPath();
  pen.moveTo(px, py);
  pen.lineTo(x, y);
  pen.stroke();
  dot(pen, [x, y], 5, MARK);
}

// A picture to keep: the tree with its mark, as it is on the page.
function save() {
  const paper = document.createElement("canvas"), pen = paper.getContext("2d");
  [paper.width, paper.height] = [view.width, view.height];
  pen.fillStyle = "#f5f1e8";
  pen.fillRect(0, 0, paper.width, paper.height);
  pen.drawImage(view, 0, 0);
  const link = document.createElement("a");
  link.href = paper.toDataURL("image/png");
  link.download = `${chosen[TAG]}.png`;
  link.click();
}

// North by the device: a phone of one kind tells it beside the event, others by an absolute turn.
function turned(event) {
  const north = event.webkitCompassHeading ?? (event.absolute && event.alpha !== null ? 360 - event.alpha : null);
  if (north === null || Number.isNaN(north)) return;
  heading = north;
  map();
}

async function follow() {
  const ask = window.DeviceOrientationEvent?.requestPermission;
  if (ask && await ask.call(window.DeviceOrientationEvent).catch(() => "denied") !== "granted") return;
  for (const kind of ["deviceorientationabsolute", "deviceorientation"]) window.addEventListener(kind, turned);
  setTimeout(() => { if (heading === null) compass.textContent = said("silent"); }, 1500);
}

// All words of the page in the language chosen.
function speak(code) {
  words = data.words[code];
  Object.assign(document.documentElement, {lang: code, dir: words.direction});
  document.title = `${data.title}: ${words.title}`;
  for (const part of document.querySelectorAll("[data-say]")) part.textContent = said(part.dataset.say);
  query.placeholder = said("name");
  tongue.value = code;
  tongue.setAttribute("aria-label", said("tongue"));
  list();
  if (chosen) tell(chosen);
  draw();
}

// Somebody for scale: beside the plumb line of the leaf, or beside the trunk.
function person(pen, at) {
  const a = Number(turn.value) * Math.PI / 180, [x, y] = chosen ? place(chosen[LEAF]) : [0, 0];
  const off = chosen ? 420 : 0.45 * spread, px = x - off * Math.sin(a), py = y + off * Math.cos(a);
  const [fx, fy, s] = at(px, py, 0), h = PERSON * s;
  pen.fillStyle = "rgba(80,70,60,.34)";
  pen.beginPath();
  pen.arc(fx, fy - 0.93 * h, 0.068 * h, 0, 2 * Math.PI);
  pen.fill();
  pen.beginPath();
  pen.roundRect(fx - 0.115 * h, fy - 0.845 * h, 0.23 * h, 0.4 * h, 0.08 * h);
  pen.roundRect(fx - 0.1 * h, fy - 0.5 * h, 0.085 * h, 0.5 * h, 0.03 * h);
  pen.roundRect(fx + 0.015 * h, fy - 0.5 * h, 0.085 * h, 0.5 * h, 0.03 * h);
  pen.fill();
}

// The way to the chosen leaf: by member, the steps from its start to where the way goes on to the next, or to the leaf.
function way() {
  const steps = new Map();
  let goal = chosen ? place(chosen[LEAF]) : null;
  for (let row = chosen ? data.twigs[chosen[LEAF]] : -1; row >= 0; row = data.parents[row]) {
    const m = data.members[row];
    let best = 0, least = Infinity;
    for (let k = 0; 3 * k + 5 < m.length; k++) {
      const d = Math.hypot(m[3 * k + 3] - goal[0], m[3 * k + 4] - goal[1], m[3 * k + 5] - goal[2]);
      if (d < least) [least, best] = [d, k];
    }
    steps.set(row, best);
    goal = m.slice(3, 6);
  }
  return steps;
}

function tree(pen, at) {
  const lit = way(), parts = [];
  data.members.forEach((m, row) => {
    const steps = (m.length - 3) / 3 - 1;
    for (let k = 0; k < steps; k++) {
      const p = at(m[3 * k + 3], m[3 * k + 4], m[3 * k + 5]), q = at(m[3 * k + 6], m[3 * k + 7], m[3 * k + 8]);
      const on = k < (lit.get(row) ?? 0), wide = (m[1] + (m[2] - m[1]) * (k + 0.5) / steps) * p[2];
      parts.push({s: (p[2] + q[2]) / 2, p, q, wide: Math.max(wide, on ? 2.6 : 0.7), lit: on});
    }
  });
  for (let i = 0; i < data.leaves.length; i += 3) {
    const p = at(data.leaves[i], data.leaves[i + 1], data.leaves[i + 2]);
    parts.push({s: p[2], p});
  }
  parts.sort((a, b) => a.s - b.s);
  const far = parts[0]?.s ?? 0, near = parts[parts.length - 1]?.s ?? 1, dim = chosen ? 0.5 : 1;
  for (const part of parts) {
    const nearness = (part.s - far) / Math.max(near - far, 1e-9);
    part.q ? bar(pen, part, nearness, dim) : leaf(pen, part, nearness, dim);
  }
}

function bar(pen, part, nearness, dim) {
  pen.strokeStyle = part.lit ? MARK : `rgba(${62 + 40 * (1 - nearness)},${53 + 40 * (1 - nearness)},${46 + 40 * (1 - nearness)},${dim})`;
  pen.lineWidth = part.wide;
  pen.beginPath();
  pen.moveTo(part.p[0], part.p[1]);
  pen.lineTo(part.q[0], part.q[1]);
  pen.stroke();
}

function leaf(pen, part, nearness, dim) {
  const [x, y, s] = part.p, r = Math.max(0.5 * data.leaf * s, 1.4);
  pen.fillStyle = `rgba(${176 + 26 * (1 - nearness)},${98 + 52 * (1 - nearness)},${54 + 60 * (1 - nearness)},${0.85 * dim})`;
  blade(pen, x, y, r);
}

function blade(pen, x, y, r) {
  pen.beginPath();
  pen.moveTo(x, y);
  pen.bezierCurveTo(x + 0.95 * r, y + 0.45 * r, x + 0.62 * r, y + 1.4 * r, x, y + 2 * r);
  pen.bezierCurveTo(x - 0.62 * r, y + 1.4 * r, x - 0.95 * r, y + 0.45 * r, x, y);
  pen.fill();
}

function ring(pen, at, leaf, wide, room) {
  const [px, py, s] = at(...place(leaf)), r = Math.max(0.5 * data.leaf * s, 3);
  pen.fillStyle = pen.strokeStyle = MARK;
  blade(pen, px, py, r);
  pen.lineWidth = wide;
  pen.beginPath();
  pen.arc(px, py + r, r + room, 0, 2 * Math.PI);
  pen.stroke();
  return [px, py + r, r + room];
}

function mark(pen, at, width) {
  const [x, y] = place(chosen[LEAF]), foot = at(x, y, 0), [px, py, r] = ring(pen, at, chosen[LEAF], 3, 11);
  Object.assign(view.dataset, {x: px.toFixed(1), y: py.toFixed(1), r: r.toFixed(1)});
  pen.lineWidth = 1.2;
  pen.setLineDash([4, 4]);
  pen.beginPath();
  pen.moveTo(px, py + r + 3);
  pen.lineTo(foot[0], foot[1]);
  pen.stroke();
  pen.setLineDash([]);
  pen.beginPath();
  pen.ellipse(foot[0], foot[1], 7, 2.5, 0, 0, 2 * Math.PI);
  pen.fill();
  label(pen, `${chosen[TAG]}, ${length_text(place(chosen[LEAF])[2])}`, px, py, r, width);
}

function label(pen, text, px, py, r, width) {
  pen.font = "600 15px Georgia, serif";
  const wide = pen.measureText(text).width + 14, left = px + r + 8 + wide > width ? px - r - 8 - wide : px + r + 8;
  pen.fillStyle = MARK;
  pen.beginPath();
  pen.roundRect(left, py - 14, wide, 28, 6);
  pen.fill();
  pen.fillStyle = "#fff";
  pen.fillText(text, left + 7, py + 5);
}

let held = null;
view.addEventListener("pointerdown", e => { held = [e.clientX, Number(turn.value)]; view.setPointerCapture(e.pointerId); });
view.addEventListener("pointermove", e => {
  if (!held) return;
  turn.value = String(((Math.round(held[1] - (e.clientX - held[0]) * 0.4) % 360) + 360) % 360);
  draw();
});
for (const end of ["pointerup", "pointercancel"]) view.addEventListener(end, () => { held = null; });
query.addEventListener("input", () => { document.body.classList.remove("chosen"); list(); forget(); });
query.addEventListener("focus", () => document.body.classList.remove("chosen"));
query.addEventListener("keydown", e => {
  const first = document.querySelector(".lists button");
  if (first && (e.key === "Enter" || e.key === "ArrowDown")) { e.preventDefault(); e.key === "Enter" ? first.click() : first.focus(); }
});
document.querySelector(".lists").addEventListener("keydown", e => {
  const all = [...document.querySelectorAll(".lists button")], k = all.indexOf(e.target), to = {ArrowDown: k + 1, ArrowUp: k - 1}[e.key];
  if (e.key === "Escape" || to < 0) query.focus();
  if (to >= 0 && all[to]) { e.preventDefault(); all[to].focus(); }
});
turn.addEventListener("input", draw);
tongue.append(...Object.entries(data.words).map(([code, own]) => Object.assign(document.createElement("option"), {value: code, textContent: own.language, lang: code})));
tongue.addEventListener("change", () => speak(tongue.value));
compass.addEventListener("click", follow);
compass.hidden = !("DeviceOrientationEvent" in window && navigator.maxTouchPoints);
speak(spoken());
new ResizeObserver(draw).observe(view);
