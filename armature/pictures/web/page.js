// The client's page: the viewer, its switches, what a tap tells, notes, a signed word, and the scene that lies in the page itself.

const at = (id) => document.getElementById(id);

async function unzipped(text) {
  const binary = atob(text), bytes = Uint8Array.from(binary, (letter) => letter.charCodeAt(0));
  return new Response(new Blob([bytes]).stream().pipeThrough(new DecompressionStream("gzip"))).arrayBuffer();
}

function lengthText(mm, units) {
  if (units === "inch") {
    const inches = Math.round(mm / 25.4);
    return inches < 12 ? `${inches} in` : `${Math.floor(inches / 12)} ft${inches % 12 ? ` ${inches % 12} in` : ""}`;
  }
  return mm < 1000 ? `${Math.round(mm)} mm` : `${(mm / 1000).toFixed(2)} m`;
}

// What a part of the tree is, in words.
function told(book, part) {
  if (part.kind === "leaf") return `Leaf ${book.leaves[part.row]}${book.names[part.row] ? `: ${book.names[part.row]}` : ", without a name"}`;
  return `${book.ranks[part.row]} ${book.members[part.row]}, ${lengthText(book.lengths[part.row], book.units)} long`;
}

function found(book, tag) {
  const wanted = tag.trim().toLowerCase();
  for (const [kind, tags] of [["bar", book.members], ["leaf", book.leaves]]) {
    const row = tags.findIndex((each) => each.toLowerCase() === wanted);
    if (row >= 0) return { kind, row, tag: tags[row] };
  }
  return null;
}

// The file that `armature approve` reads.
function word(book, by, on, says, notes) {
  return { format: "armature approval", version: 1, title: book.title, design: book.design, says, by: by.trim(), on, notes };
}

function saved(name, address) {
  const link = document.createElement("a");
  Object.assign(link, { href: address, download: name });
  link.click();
}

function wireView(viewer) {
  for (const input of document.querySelectorAll("[name=crown]")) input.addEventListener("change", () => viewer.setBare(input.value === "bare"));
  for (const input of document.querySelectorAll("[name=age]")) {
    input.checked = input.value === viewer.age;
    input.addEventListener("change", () => viewer.setAge(input.value));
  }
  const figure = at("figure");
  figure.addEventListener("change", () => viewer.setHidden("figure", !figure.checked));
  at("home").addEventListener("click", () => viewer.home());
  at("side").addEventListener("click", () => { viewer.home(); viewer.turn(90, 0); });
  at("keep").addEventListener("click", () => saved("tree.png", viewer.canvas.toDataURL("image/png")));
  at("print").addEventListener("click", () => window.print());
  window.addEventListener("beforeprint", () => { viewer.moving = false; viewer.draw(); at("still").src = viewer.canvas.toDataURL("image/png"); });
  const turn = at("turn"), calm = window.matchMedia("(prefers-reduced-motion: reduce)");
  let turning = false;
  const step = () => {
    if (!turning) return;
    viewer.turn(0.35, 0);
    requestAnimationFrame(step);
  };
  // Who asks for little motion gets a step at a time.
  turn.addEventListener("click", () => {
    if (calm.matches) { viewer.turn(30, 0); return; }
    turning = !turning;
    turn.setAttribute("aria-pressed", turning);
    step();
  });
}

// The sun of a season and hour in the place of the one that was drawn.
function wireSun(viewer, skies) {
  const hour = at("hour");
  const set = () => {
    const season = document.querySelector("[name=season]:checked").value, value = Number(hour.value);
    hour.disabled = !season;
    at("clock").textContent = `${Math.floor(value)}:${value % 1 ? "30" : "00"}`;
    viewer.setSky(season ? skies[season][Math.round((value - 4) * 2)] : null);
  };
  for (const input of [...document.querySelectorAll("[name=season]"), hour]) input.addEventListener("input", set);
}

// Height and spread as lines over the picture.
function wireSizes(viewer, book) {
  const sizes = at("sizes"), ask = at("measured"), space = sizes.namespaceURI;
  const made = (kind, given, text) => {
    const each = document.createElementNS(space, kind);
    for (const [key, value] of Object.entries(given)) each.setAttribute(key, value);
    if (text) each.textContent = text;
    return each;
  };
  const line = (on, a, b, text) => {
    const [p, q] = [on(a), on(b)];
    if (!p || !q) return [];
    const lines = ["halo", "rule"].map((kind) => made("line", { x1: p[0], y1: p[1], x2: q[0], y2: q[1], class: kind }));
    return [...lines, made("text", { x: (p[0] + q[0]) / 2, y: (p[1] + q[1]) / 2 - 6 }, text)];
  };
  viewer.drawn = (on) => {
    sizes.toggleAttribute("hidden", !ask.checked);
    if (!ask.checked) return;
    const { low, high } = viewer.scene, yaw = viewer.view.yaw * Math.PI / 180, aside = [-Math.sin(yaw), Math.cos(yaw)];
    const far = 1.08 * Math.max(-low[0], high[0], -low[1], high[1]), [x, y] = [-far * aside[0], -far * aside[1]];
    const wide = (k) => `${lengthText(high[k] - low[k], book.units)}`;
    sizes.replaceChildren(
      ...line(on, [x, y, 0], [x, y, high[2]], lengthText(high[2], book.units)),
      ...line(on, [low[0], low[1], 0], [high[0], low[1], 0], wide(0)),
      ...line(on, [high[0], low[1], 0], [high[0], high[1], 0], wide(1)),
    );
  };
  ask.addEventListener("change", () => viewer.ask());
}

function wireWord(viewer, book) {
  const notes = [];
  let part = null;
  const show = (next) => {
    part = next;
    at("part").textContent = part ? told(book, part) : "";
    if (viewer) viewer.mark(part && part.kind === "bar" ? [part.row] : [], 0.85, part && part.kind === "leaf" ? [part.row] : []);
  };
  at("tag").addEventListener("input", () => {
    show(found(book, at("tag").value));
    if (!part && at("tag").value.trim()) at("part").textContent = "no part has this tag";
  });
  const list = () => at("notes").replaceChildren(...notes.map((note, row) => {
    const item = document.createElement("li"), drop = document.createElement("button");
    Object.assign(drop, { type: "button", textContent: "take away" });
    drop.setAttribute("aria-label", `take away the note on ${note.tag || "the tree"}`);
    drop.addEventListener("click", () => { notes.splice(row, 1); list(); at("note").focus(); });
    item.append(`${note.tag || "the tree"}: ${note.text} `, drop);
    return item;
  }));
  at("add").addEventListener("click", () => {
    const text = at("note").value.trim();
    if (!text) { at("note").focus(); return; }
    notes.push({ tag: part ? part.tag : "", text });
    at("note").value = "";
    list();
  });
  const now = new Date();
  at("on").value = [now.getFullYear(), now.getMonth() + 1, now.getDate()].map((n) => String(n).padStart(2, "0")).join("-");
  at("sign").addEventListener("click", () => {
    const says = document.querySelector("[name=says]:checked"), lacks = !says ? "yes or not yet" : !at("by").value.trim() ? "a name" : !at("on").value ? "a date" : "";
    if (lacks) {
      at("signed").textContent = `It wants ${lacks}.`;
      (says ? at(at("by").value.trim() ? "on" : "by") : document.querySelector("[name=says]")).focus();
      return;
    }
    const text = JSON.stringify(word(book, at("by").value, at("on").value, says.value, notes), null, 1) + "\n";
    saved(`approval-${at("on").value}.json`, URL.createObjectURL(new Blob([text], { type: "application/json" })));
    at("signed").textContent = "Saved. Send the file to the smith.";
  });
  return (hit) => {
    if (!hit) { show(null); return; }
    const kind = hit.part === "leaves" ? "leaf" : "bar", tag = (kind === "leaf" ? book.leaves : book.members)[hit.row];
    at("tag").value = tag;
    show({ kind, row: hit.row, tag });
  };
}

(async () => {
  const scene = await unzipped(at("scene").textContent.trim());
  let viewer = null, tapped = () => {};
  try {
    at("tree").hidden = false;
    viewer = new Viewer(at("tree"), (hit) => tapped(hit));
    viewer.age = AGE;
    viewer.show(scene);
    at("still").hidden = true;
    for (const each of document.querySelectorAll(".hint, .live")) each.hidden = false;
    wireView(viewer);
    wireSun(viewer, viewer.scene.book.skies);
    wireSizes(viewer, viewer.scene.book);
    window.viewer = viewer;
  } catch (error) {
    viewer = null;
    at("tree").hidden = true;
    at("wrong").hidden = false;
    at("wrong").textContent = `A still stands here: the tree cannot be turned in this browser. ${error.message}`;
  }
  const { book } = viewer ? viewer.scene : unpack(scene);
  if (!book.members) return;
  for (const each of document.querySelectorAll(".word")) each.hidden = false;
  tapped = wireWord(viewer, book);
})();
