"use strict";
// The easel's page: controls that move the commission, the tree that follows, and what is said of it.

const $ = (id) => document.getElementById(id);
const made = (name, attributes = {}, ...inside) => {
  const element = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) key in element ? element[key] = value : element.setAttribute(key, value);
  element.append(...inside);
  return element;
};

let work = "", state = null, viewer = null, beside = null, panel = null, chosen = null, besideTree = null;

// One request to the easel; a refusal comes as an error with the line to show.
async function ask(what, body, kind = "json") {
  const options = body === undefined ? {} : { method: "POST", headers: { "X-House": "1" }, body: typeof body === "string" ? body : JSON.stringify(body) };
  let reply;
  try {
    reply = await fetch(`/api/${what}`, options);
  } catch {
    throw new Error("the easel does not answer: is it still running?");
  }
  if (!reply.ok) throw new Error((await reply.json().catch(() => ({}))).wrong || `the easel answered ${reply.status}`);
  return kind === "bytes" ? reply.arrayBuffer() : reply.json();
}

function base64(file) {
  return new Promise((done, failed) => {
    const reader = new FileReader();
    reader.onload = () => done(reader.result.slice(reader.result.indexOf(",") + 1));
    reader.onerror = () => failed(new Error(`${file.name} cannot be read`));
    reader.readAsDataURL(file);
  });
}

function say(text, fine = false) {
  $("message").textContent = text;
  $("message").classList.toggle("fine", fine);
}

const attempt = (act) => async (...given) => {
  try {
    await act(...given);
  } catch (error) {
    say(error.message);
    document.body.classList.remove("busy");
    if (state) showValues();
  }
};

// ---- controls

function buildControls() {
  const groups = new Map();
  for (const control of state.controls) {
    if (!groups.has(control.group)) groups.set(control.group, made("fieldset", {}, made("legend", {}, control.group)));
    groups.get(control.group).append(slider(control));
  }
  const habit = made("select", { id: "habit" }, ...state.habits.map((name) => made("option", { value: name }, name)));
  habit.addEventListener("change", () => move("canopy.habit", habit.value, true));
  const usual = made("button", { id: "usual", type: "button", hidden: true });
  usual.addEventListener("click", () => {
    moveAll({ "canopy.spread.0": state.usual[0], "canopy.spread.1": state.usual[1] }, true);
  });
  groups.get("Canopy").firstChild.after(made("p", { className: "seed" }, made("label", { htmlFor: "habit" }, "Habit"), habit), usual);
  const seed = made("input", { id: "seed", type: "number", min: 0, step: 1 });
  const another = made("button", { type: "button", id: "another" }, "another");
  seed.addEventListener("change", () => move("seed", Math.round(Number(seed.value)), true));
  another.addEventListener("click", () => move("seed", Math.floor(Math.random() * 1e6), true));
  const grain = made("fieldset", {}, made("legend", {}, "Seed"), made("p", { className: "seed" }, made("label", { htmlFor: "seed" }, "Seed"), seed, another));
  $("controls").replaceChildren(grain, ...groups.values());
  $("controls").addEventListener("submit", (event) => event.preventDefault());
}

function slider(control) {
  const id = control.key.replaceAll(".", "-");
  // A shop that reads inches moves lengths by whole inches.
  const scale = control.unit === "m" && state.units === "inch" ? 0.0254 : 1, step = scale === 1 ? control.step : 1;
  const input = made("input", { id, type: "range", min: Math.ceil(control.low / scale), max: Math.floor(control.high / scale), step });
  if (scale === 1) Object.assign(input, { min: control.low, max: control.high });
  input.dataset.scale = scale;
  const output = made("output", { htmlFor: id });
  const name = control.label === "give or take" ? control.key.split(".")[1] + " angle, give or take" : control.label;
  input.setAttribute("aria-label", name);
  input.dataset.key = control.key;
  input.dataset.unit = control.unit;
  input.addEventListener("input", () => { output.value = shownValue(input); move(control.key, moved(input), false); });
  input.addEventListener("change", () => move(control.key, moved(input), true));
  return made("div", { className: "slider" }, made("label", { htmlFor: id }, control.label), output, input);
}

const moved = (input) => Number((Number(input.value) * Number(input.dataset.scale)).toFixed(6));

const shownValue = (input) => {
  const value = Number(input.value);
  if (input.dataset.unit === "m") return input.dataset.scale === "1" ? `${value.toFixed(2)} m` : feet(value);
  return input.dataset.unit === "deg" ? `${value}°` : input.step.includes(".") ? value.toFixed(2) : String(value);
};

const lengthText = (metres) => state.units === "inch" ? feet(Math.round(metres / 0.0254)) : `${metres.toFixed(2)} m`;

function feet(inches) {
  return `${Math.floor(inches / 12)} ft ${inches % 12} in`;
}

function showValues() {
  for (const input of $("controls").querySelectorAll("[type=range]")) {
    const value = state.values[input.dataset.key] / Number(input.dataset.scale);
    // A commission may lie outside the usual range of a control: the control then widens.
    if (value > Number(input.max)) input.max = value;
    if (value < Number(input.min)) input.min = value;
    input.value = value;
    input.previousElementSibling.value = shownValue(input);
  }
  const habit = state.values["canopy.habit"];
  if (![...$("habit").options].some((each) => each.value === habit)) $("habit").append(made("option", { value: habit }, habit));
  $("habit").value = habit;
  // A habit keeps the spread it was given; its own is offered where the two are far apart.
  const spread = [0, 1].map((at) => state.values[`canopy.spread.${at}`]);
  $("usual").hidden = !spread.some((each, at) => Math.abs(Math.log(each / state.usual[at])) > 0.26);
  $("usual").textContent = `take the ${habit} habit's own spread: ${state.usual.map(lengthText).join(" by ")}`;
  $("seed").value = state.values.seed;
}

// ---- moving: one request under way, the latest wish waiting

let wish = null, under = false;

const move = (key, value, keep) => moveAll({ [key]: value }, keep);

function moveAll(values, keep) {
  wish = { values: { ...(wish ? wish.values : {}), ...values }, keep: keep || Boolean(wish && wish.keep), since: wish ? wish.since : performance.now() };
  if (!under) follow();
}

const follow = attempt(async () => {
  under = true;
  document.body.classList.add("busy");
  try {
    while (wish) {
      const now = wish;
      wish = null;
      const found = await ask(`${work}/move`, { values: now.values, keep: now.keep });
      say("");
      await take(found, now.since);
    }
  } finally {
    under = false;
    if (wish) follow();
  }
});

// Shows a new state of the work: the tree first, what is said of it after, finer light last.
async function take(found, since = performance.now()) {
  const controls = state ? { controls: state.controls, habits: state.habits } : {};
  state = { ...controls, ...found };
  if (Number($("tree").dataset.tree) !== state.tree) {
    viewer.show(await ask(`${work}/scene?tree=${state.tree}`, undefined, "bytes"));
    viewer.draw();
    viewer.gl.finish();
    $("tree").dataset.tree = state.tree;
    $("tree").dataset.took = Math.round(performance.now() - since);
  }
  document.body.classList.remove("busy");
  chosen = null;
  showSpots([]);
  $("title").textContent = state.title;
  caption("as first grown");
  $("undo").disabled = !state.undo;
  $("redo").disabled = !state.redo;
  if (!wish) showValues();
  showShelf();
  later();
}

function caption(how) {
  $("caption").textContent = `seed ${state.values.seed}, ${state.members} members, ${how}`;
}

let resting = 0;

// What takes longer waits until the hand rests: first what is said of the tree as grown, then all that make would do to
// it, then that tree in finer light.
function later() {
  clearTimeout(resting);
  const tree = state.tree, current = () => tree === state.tree && !under;
  resting = setTimeout(attempt(async () => {
    await attempt(async () => {
      const said = await ask(`${work}/panel?tree=${tree}`);
      if (current()) showPanel(said);
    })();
    resting = setTimeout(attempt(async () => {
      if (!current()) return;
      if (!panel || panel.tree !== tree || !panel.settled) {
        await attempt(async () => {
          const said = await ask(`${work}/settle?tree=${tree}`);
          if (current() && !said.gone) showPanel(said);
        })();
      }
      if (!current()) return;
      const bytes = await ask(`${work}/scene?tree=${tree}&fine=1`, undefined, "bytes");
      if (!current()) return;
      viewer.show(bytes);
      $("tree").dataset.fine = tree;
      showMarks();
    }), 700);
  }), 300);
}

// ---- what is said

function showPanel(said) {
  panel = said;
  $("look").value = said.look === null ? "–" : `${Math.round(said.look)} of 100`;
  $("faults").replaceChildren(...said.faults.map((fault, number) => {
    const button = made("button", { type: "button" }, fault.wrong || fault.name, made("small", {}, fault.helps));
    button.setAttribute("aria-pressed", "false");
    button.addEventListener("click", () => choose(chosen === number ? null : number));
    return made("li", {}, button);
  }));
  if (!said.faults.length) $("faults").append(made("li", {}, "nothing that the eye would stumble over"));
  const standing = said.standing || { says: "reckoned when the hand rests …", reasons: [], stands: true, rows: [] };
  $("standing").textContent = standing.says;
  $("standing").classList.toggle("fails", !standing.stands);
  $("reasons").replaceChildren(...standing.reasons.map((reason) => made("li", {}, reason)));
  caption(!said.settled ? "as first grown" : `as make will make it${said.changes.length ? `: ${said.changes.join("; ")}` : ""}`);
  $("totals").replaceChildren(...said.totals.map(([label, value]) => made("div", {}, made("dt", {}, label), made("dd", {}, value))));
  $("panel").dataset.tree = said.tree;
  $("panel").dataset.settled = said.settled ? said.tree : "";
  showMarks();
}

function choose(number) {
  chosen = number;
  const fault = panel.faults[number];
  if (fault && fault.azimuth !== null) { viewer.view.yaw = fault.azimuth; viewer.ask(); }
  showMarks();
}

function showMarks() {
  if (!panel || panel.tree !== state.tree) return;
  [...$("faults").querySelectorAll("button")].forEach((button, at) => button.setAttribute("aria-pressed", at === chosen));
  const every = $("marks").checked ? panel.faults.flatMap((fault) => fault.rows).concat(panel.standing ? panel.standing.rows : []) : [];
  viewer.mark(chosen === null ? every : panel.faults[chosen].rows);
  const shown = chosen !== null ? panel.faults[chosen].places : $("marks").checked ? panel.faults.flatMap((fault) => fault.places) : [];
  showSpots(shown);
}

// Rings over the places that a finding names; they follow the tree as it turns.
function showSpots(places) {
  const spots = places.map(() => made("i", { className: "spot" }));
  $("spots").replaceChildren(...spots);
  viewer.drawn = (onCanvas) => places.forEach((place, at) => {
    const found = onCanvas(place);
    spots[at].hidden = !found;
    if (found) Object.assign(spots[at].style, { left: `${found[0]}px`, top: `${found[1]}px` });
  });
  viewer.ask();
}

const pick = attempt(async (found) => {
  if (!found) { say(""); showMarks(); return; }
  const told = await ask(`${work}/member?tree=${state.tree}&part=${found.part}&row=${found.row}`);
  viewer.mark([told.row]);
  say(told.says, true);
});

// ---- side by side

function showShelf() {
  const row = ({ tree, says }) => {
    const act = (text, run) => { const button = made("button", { type: "button" }, text); button.addEventListener("click", attempt(run)); return button; };
    const look = act(besideTree === tree ? "hide" : "show beside", () => showBeside(besideTree === tree ? null : tree, says));
    const back = act("take back", async () => take(await ask(`${work}/back`, { tree })));
    const down = act("take down", async () => { if (besideTree === tree) await showBeside(null); await take(await ask(`${work}/down`, { tree })); });
    return made("li", {}, says, made("div", { className: "bar" }, look, back, down));
  };
  $("shelf").replaceChildren(...state.shelf.map(row));
  if (!state.shelf.length) $("shelf").append(made("li", {}, "no tree yet"));
}

async function showBeside(tree, says = "") {
  besideTree = tree;
  $("other").hidden = tree === null;
  showShelf();
  if (tree === null) return;
  const canvas = $("other").querySelector("canvas");
  if (!beside) {
    beside = new Viewer(canvas);
    // Both trees are seen from one place.
    beside.view = viewer.view;
    const both = [viewer, beside].map((each) => each.ask.bind(each));
    viewer.ask = beside.ask = () => both.forEach((each) => each());
  }
  for (const fine of ["", "&fine=1"]) {
    const bytes = await ask(`${work}/scene?tree=${tree}${fine}`, undefined, "bytes");
    if (besideTree !== tree) return;
    beside.show(bytes);
    // Both trees must fit, the narrower stage has the say.
    if (!fine) { viewer.fit(); viewer.ask(); }
  }
  $("other").querySelector("figcaption").textContent = `set aside: ${says}`;
  canvas.dataset.tree = tree;
  viewer.ask();
}

// ---- make

const watch = attempt(async () => {
  const found = await ask(`${work}/progress`);
  const running = found.state === "making";
  $("make").disabled = running;
  $("stop").hidden = !running;
  $("progress").hidden = !running;
  $("progress").value = found.share || 0;
  $("made").textContent = running ? found.what : found.state === "wrong" ? found.wrong : found.state === "done" ? found.folder : "";
  if (found.state === "done") {
    $("files").replaceChildren(...found.files.map(([name, size]) => made("li", {}, made("a", { href: `/job/${work}/${name.split("/").map(encodeURIComponent).join("/")}`, target: "_blank", rel: "noopener" }, name), ` ${(size / 1000).toFixed(0)} kB`)));
  }
  if (running) setTimeout(watch, 400);
});

// ---- start

function wire() {
  $("undo").addEventListener("click", attempt(async () => take(await ask(`${work}/undo`, {}))));
  $("redo").addEventListener("click", attempt(async () => take(await ask(`${work}/redo`, {}))));
  $("open").addEventListener("change", attempt(async () => {
    // The page hands the files over: the easel opens none by itself.
    const chosen = [...$("open").files];
    $("open").value = "";
    const file = chosen.find((each) => each.name.toLowerCase().endsWith(".toml"));
    if (!file) { if (chosen.length) throw new Error("choose a commission (.toml), and the files that it names with it"); return; }
    const files = {};
    for (const each of chosen) if (each !== file) files[each.name] = await base64(each);
    await take(await ask(`${work}/open`, { commission: await file.text(), files }));
    viewer.home();
    say(`opened ${file.name}`, true);
  }));
  $("save").addEventListener("click", attempt(async () => {
    const { path, kept } = await ask(`${work}/save`, { name: $("name").value });
    say(`written: ${path}${kept ? `; what stood there is kept as ${kept}` : ""}`, true);
  }));
  $("aside").addEventListener("click", attempt(async () => { state = { ...state, ...(await ask(`${work}/aside`, {})) }; showShelf(); say("set aside: now change the tree and compare", true); }));
  $("make").addEventListener("click", attempt(async () => { $("files").replaceChildren(); await ask(`${work}/make`, {}); watch(); }));
  $("stop").addEventListener("click", attempt(async () => { $("stop").hidden = true; await ask(`${work}/stop`, {}); }));
  $("front").addEventListener("click", () => viewer.home());
  $("side").addEventListener("click", () => { viewer.home(); viewer.turn(90, 0); });
  const both = (act) => [viewer, beside].forEach((each) => each && act(each));
  $("bare").addEventListener("change", () => both((each) => each.setBare($("bare").checked)));
  $("figure").addEventListener("change", () => both((each) => each.setHidden("figure", !$("figure").checked)));
  $("age").addEventListener("change", () => both((each) => each.setAge($("age").value)));
  $("marks").addEventListener("change", () => { chosen = null; showMarks(); });
  document.addEventListener("keydown", (event) => {
    if (!(event.ctrlKey || event.metaKey) || event.key.toLowerCase() !== "z" || event.target.matches("input[type=text], input[type=number]")) return;
    event.preventDefault();
    (event.shiftKey ? $("redo") : $("undo")).click();
  });
}

async function begin(name) {
  work = name;
  // A page that is loaded again finds its own work; another page begins its own.
  sessionStorage.setItem("work", work);
  $("download").href = `/api/${work}/commission.toml`;
  const found = await ask(`${work}/state`);
  state = found;
  buildControls();
  await take(found);
  watch();
}

attempt(async () => {
  viewer = new Viewer($("tree"), pick);
  window.viewer = viewer;
  wire();
  const { sessions } = await ask("earlier");
  const kept = sessionStorage.getItem("work");
  try {
    await begin(kept || (await ask("new", {})).session);
  } catch (error) {
    if (!kept) throw error;
    await begin((await ask("new", {})).session);
  }
  const rows = sessions.filter((name) => name !== work).map((name, at) => {
    const button = made("button", { type: "button" }, at ? `work ${at + 1} back` : "the latest");
    button.addEventListener("click", attempt(() => begin(name)));
    return made("li", {}, button);
  });
  $("earlier").replaceChildren(...(rows.length ? rows : [made("li", {}, "none")]));
})();
