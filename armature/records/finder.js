"use strict";
const data = JSON.parse(document.getElementById("data").textContent);
const query = document.getElementById("query"), found = document.getElementById("found");
const count = document.getElementById("count"), told = document.getElementById("told");
const turn = document.getElementById("turn"), view = document.getElementById("view");
const MOST = 60, EYE = 1600;
const WINDS = {N: "north", NE: "north-east", E: "east", SE: "south-east", S: "south", SW: "south-west", W: "west", NW: "north-west"};
document.querySelector("h1").textContent = data.title;

let chosen = null;
const spread = (() => {
  let most = 1500;
  for (let i = 0; i < data.leaves.length; i += 3) most = Math.max(most, Math.hypot(data.leaves[i], data.leaves[i + 1]));
  for (const m of data.members) for (let i = 3; i < m.length; i += 3) most = Math.max(most, Math.hypot(m[i], m[i + 1]));
  return most;
})();
const away = spread + Math.max(1.3 * spread, 0.9 * data.height);

// The same folding as in the list of names: letters and digits, no accents, no capitals.
function folded(text) {
  return text.toLowerCase().normalize("NFKD").replace(/-/g, " ").replace(/[^\p{L}\p{N}\s]/gu, "").replace(/\s+/g, " ").trim();
}

function list() {
  const typed = query.value, words = folded(typed).split(" ").filter(Boolean);
  const bare = typed.trim();
  let rows = data.names;
  if (bare) {
    // What is typed exactly comes first, then what is alike but for accents, capitals and order.
    const exact = rows.filter(n => n[0].toLowerCase().includes(bare.toLowerCase()) || n[1] === bare);
    const alike = words.length ? rows.filter(n => words.every(w => n[3].includes(w)) && !exact.includes(n)) : [];
    rows = exact.concat(alike);
  }
  found.replaceChildren(...rows.slice(0, MOST).map(row));
  const more = rows.length > MOST ? `, the first ${MOST} shown` : "";
  count.textContent = rows.length === 1 ? "1 name" : `${rows.length} names${more}`;
}

function row(name) {
  const item = document.createElement("li"), button = document.createElement("button");
  const text = document.createElement("bdi"), tag = document.createElement("span");
  text.textContent = name[0];
  tag.textContent = name[1];
  button.type = "button";
  button.setAttribute("aria-pressed", String(chosen === name));
  button.append(text, tag);
  button.addEventListener("click", () => choose(name));
  item.append(button);
  return item;
}

function place(leaf) { return data.leaves.slice(3 * leaf, 3 * leaf + 3); }

function choose(name) {
  chosen = name;
  const [x, y, z] = place(name[2]);
  // Stand on the leaf's own side of the tree.
  turn.value = String(Math.round(((Math.atan2(y, x) * 180 / Math.PI) % 360 + 360) % 360) % 360);
  told.replaceChildren();
  const who = document.createElement("bdi");
  who.textContent = name[0];
  told.append(who, `: leaf ${name[1]}, ${(z / 1000).toFixed(1)} m above the ground, on the ${WINDS[name[4]]} side. You stand on that side.`);
  for (const b of found.querySelectorAll("button")) b.setAttribute("aria-pressed", String(b.textContent === name[0] + name[1]));
  draw();
}

function camera(width, height) {
  const a = Number(turn.value) * Math.PI / 180, c = Math.cos(a), s = Math.sin(a);
  const low = -EYE / away, high = (data.height * 1.04 - EYE) / (away - 0.5 * spread);
  const scale = Math.min(0.92 * height / (high - low), 0.92 * width / (2.1 * spread / (away - 0.25 * spread)));
  const floor = height - 0.05 * height + low * scale;
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
  pen.clearRect(0, 0, width, height);
  ground(pen, at);
  members(pen, at);
  leaves(pen, at);
  if (chosen) mark(pen, at, width);
}

function ground(pen, at) {
  pen.beginPath();
  for (let k = 0; k <= 48; k++) {
    const a = k * Math.PI / 24, [x, y] = at(0.55 * spread * Math.cos(a), 0.55 * spread * Math.sin(a), 0);
    k ? pen.lineTo(x, y) : pen.moveTo(x, y);
  }
  pen.fillStyle = "rgba(70,58,44,.10)";
  pen.fill();
}

function members(pen, at) {
  pen.lineCap = pen.lineJoin = "round";
  for (const m of data.members) {
    const steps = (m.length - 3) / 3 - 1;
    pen.strokeStyle = m[0] < 3 ? "#4a4039" : "#6d6157";
    for (let k = 0; k < steps; k++) {
      const p = at(m[3 * k + 3], m[3 * k + 4], m[3 * k + 5]), q = at(m[3 * k + 6], m[3 * k + 7], m[3 * k + 8]);
      const wide = m[1] + (m[2] - m[1]) * (k + 0.5) / steps;
      pen.lineWidth = Math.max(wide * p[2], 0.6);
      pen.beginPath();
      pen.moveTo(p[0], p[1]);
      pen.lineTo(q[0], q[1]);
      pen.stroke();
    }
  }
}

function leaves(pen, at) {
  const order = [];
  for (let i = 0; i < data.leaves.length; i += 3) order.push(at(data.leaves[i], data.leaves[i + 1], data.leaves[i + 2]));
  order.sort((a, b) => a[2] - b[2]);
  pen.fillStyle = chosen ? "rgba(181,103,58,.42)" : "rgba(181,103,58,.8)";
  for (const [x, y, s] of order) {
    const r = Math.max(34 * s, 1.2);
    pen.beginPath();
    pen.ellipse(x, y + r, 0.55 * r, r, 0, 0, 2 * Math.PI);
    pen.fill();
  }
}

function mark(pen, at, width) {
  const [x, y, z] = place(chosen[2]), [px, py, s] = at(x, y, z), foot = at(x, y, 0), r = Math.max(34 * s, 3);
  pen.strokeStyle = "#0f6b5c";
  pen.lineWidth = 1.2;
  pen.setLineDash([4, 4]);
  pen.beginPath();
  pen.moveTo(px, py + 2 * r + 14);
  pen.lineTo(foot[0], foot[1]);
  pen.stroke();
  pen.setLineDash([]);
  pen.fillStyle = "#0f6b5c";
  pen.beginPath();
  pen.ellipse(px, py + r, 0.6 * r, 1.1 * r, 0, 0, 2 * Math.PI);
  pen.fill();
  pen.lineWidth = 2.5;
  pen.beginPath();
  pen.arc(px, py + r, r + 11, 0, 2 * Math.PI);
  pen.stroke();
  pen.font = "600 15px Georgia, serif";
  const text = chosen[1], wide = pen.measureText(text).width, left = px + r + 18 + wide > width ? px - r - 18 - wide : px + r + 18;
  pen.fillStyle = "rgba(246,242,234,.9)";
  pen.fillRect(left - 4, py + r - 12, wide + 8, 22);
  pen.fillStyle = "#0f6b5c";
  pen.fillText(text, left, py + r + 5);
}

let held = null;
view.addEventListener("pointerdown", e => { held = [e.clientX, Number(turn.value)]; view.setPointerCapture(e.pointerId); });
view.addEventListener("pointermove", e => {
  if (!held) return;
  turn.value = String(((Math.round(held[1] - (e.clientX - held[0]) * 0.4) % 360) + 360) % 360);
  draw();
});
view.addEventListener("pointerup", () => { held = null; });
query.addEventListener("input", list);
query.addEventListener("keydown", e => {
  const first = found.querySelector("button");
  if (first && (e.key === "Enter" || e.key === "ArrowDown")) { e.preventDefault(); e.key === "Enter" ? first.click() : first.focus(); }
});
found.addEventListener("keydown", e => {
  const item = e.target.closest("li"), next = e.key === "ArrowDown" ? item?.nextElementSibling : e.key === "ArrowUp" ? item?.previousElementSibling : null;
  if (e.key === "ArrowUp" && item && !next) query.focus();
  if (next) { e.preventDefault(); next.firstElementChild.focus(); }
});
turn.addEventListener("input", draw);
new ResizeObserver(draw).observe(view);
list();
