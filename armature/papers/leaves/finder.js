"use strict";
const data = JSON.parse(document.getElementById("data").textContent);
const [query, found, count, told, turn, stand, view] =
  ["query", "found", "count", "told", "turn", "stand", "view"].map(id => document.getElementById(id));
const MOST = 60, EYE = 1600, PERSON = 1720, MARK = "#0b6254";
const [NAME, TAG, LEAF, KEY, HIGH, SIDE, LIMB, OUT] = [0, 1, 2, 3, 4, 5, 6, 7];
const WINDS = {N: "north", NE: "north-east", E: "east", SE: "south-east", S: "south", SW: "south-west", W: "west", NW: "north-west"};
const OUTS = ["close to the trunk", "halfway out along the crown", "at the edge of the crown"];
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

// The same folding as of the keys: letters and digits, no accents, no capitals, letters of their own as plain ones.
const PLAIN = {"ø": "o", "ł": "l", "đ": "d", "ð": "d", "ħ": "h", "ı": "i", "ŧ": "t", "þ": "th", "æ": "ae", "œ": "oe", "ς": "σ", "ß": "ss"};
function folded(text) {
  const plain = text.normalize("NFKD").toLowerCase().replace(/[øłđðħıŧþæœςß]/g, sign => PLAIN[sign]);
  return plain.replace(/-/g, " ").replace(/[^\p{L}\p{N}\s]/gu, "").replace(/\s+/g, " ").trim();
}

function matches(typed) {
  const bare = typed.trim().toLowerCase(), words = folded(typed).split(" ").filter(Boolean);
  if (!bare) return data.names;
  // What is typed exactly comes first, then what is alike but for accents, capitals and order.
  const exact = data.names.filter(n => n[NAME].toLowerCase().includes(bare) || n[TAG].toLowerCase() === bare);
  const alike = words.length ? data.names.filter(n => n[KEY].split("|").some(key => words.every(w => key.includes(w)))) : [];
  return exact.concat(alike.filter(n => !exact.includes(n)));
}

function list() {
  const rows = matches(query.value);
  found.replaceChildren(...rows.slice(0, MOST).map(row));
  found.scrollTop = 0;
  const more = rows.length > MOST ? `; the first ${MOST} are shown, type more of it` : "";
  count.textContent = rows.length === 0 ? "No such name on this tree" : rows.length === 1 ? "1 leaf" : `${rows.length} leaves${more}`;
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
  for (const b of found.querySelectorAll("button")) b.setAttribute("aria-pressed", String(b.dataset.tag === name[TAG]));
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
  const z = place(name[LEAF])[2], reach = z <= data.reach ? "within reach" : "out of reach overhead";
  const limb = data.limbs[name[LIMB]], bough = limb && name[LIMB] !== "T" ? `On limb ${name[LIMB]}, the one to the ${WINDS[limb]}` : "On the trunk";
  const lines = [
    `${bough}: ${name[HIGH]} above the ground, ${reach}.`,
    `On the ${WINDS[name[SIDE]]} side, ${OUTS[name[OUT]]}. Leaf ${name[TAG]}.`,
  ].map(text => Object.assign(document.createElement("p"), {textContent: text}));
  told.replaceChildren(head, ...lines, ...more());
}

function more() {
  const others = sisters();
  if (!others.length) return [];
  const line = Object.assign(document.createElement("p"), {className: "more", textContent: others.length > 1 ? "The same name also hangs on leaves " : "The same name also hangs on leaf "});
  others.forEach((other, k) => {
    const button = Object.assign(document.createElement("button"), {type: "button", textContent: other[TAG]});
    button.addEventListener("click", () => choose(other));
    line.append(k ? ", " : "", button);
  });
  line.append(" (small rings).");
  return [line];
}

function wind(degrees) {
  // Degrees run from east to north; winds from north to east.
  return Object.values(WINDS)[Math.round((810 - degrees) % 360 / 45) % 8];
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
  stand.textContent = `You stand ${wind(here)} of the tree, looking ${wind(here + 180)}.`;
  view.setAttribute("aria-label", chosen ? `The tree seen from the ground; leaf ${chosen[TAG]} is marked` : "The tree seen from the ground");
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
  for (const [sign, x, y] of [["N", 0, 1], ["E", 1, 0], ["S", 0, -1], ["W", -1, 0]]) {
    const [px, py] = at(0.9 * RIM * x, 0.9 * RIM * y, 0);
    pen.fillText(sign, px, py + 4);
  }
  pen.textAlign = "start";
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
  label(pen, `${chosen[TAG]}, ${chosen[HIGH]}`, px, py, r, width);
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
  const first = found.querySelector("button");
  if (first && (e.key === "Enter" || e.key === "ArrowDown")) { e.preventDefault(); e.key === "Enter" ? first.click() : first.focus(); }
});
found.addEventListener("keydown", e => {
  const item = e.target.closest("li"), next = e.key === "ArrowDown" ? item?.nextElementSibling : e.key === "ArrowUp" ? item?.previousElementSibling : null;
  if (e.key === "Escape" || (e.key === "ArrowUp" && item && !next)) query.focus();
  if (next) { e.preventDefault(); next.firstElementChild.focus(); }
});
turn.addEventListener("input", draw);
new ResizeObserver(draw).observe(view);
list();
