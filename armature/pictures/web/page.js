// The client's page: the viewer, its switches, and the scene that lies in the page itself.

async function unzipped(text) {
  const binary = atob(text), bytes = Uint8Array.from(binary, (letter) => letter.charCodeAt(0));
  return new Response(new Blob([bytes]).stream().pipeThrough(new DecompressionStream("gzip"))).arrayBuffer();
}

function wire(viewer) {
  for (const input of document.querySelectorAll("[name=crown]")) input.addEventListener("change", () => viewer.setBare(input.value === "bare"));
  for (const input of document.querySelectorAll("[name=age]")) {
    input.checked = input.value === viewer.age;
    input.addEventListener("change", () => viewer.setAge(input.value));
  }
  const figure = document.getElementById("figure");
  figure.addEventListener("change", () => viewer.setHidden("figure", !figure.checked));
  document.getElementById("home").addEventListener("click", () => viewer.home());
  document.getElementById("side").addEventListener("click", () => { viewer.home(); viewer.turn(90, 0); });
  const turn = document.getElementById("turn");
  let turning = false;
  const step = () => {
    if (!turning) return;
    viewer.turn(0.35, 0);
    requestAnimationFrame(step);
  };
  turn.addEventListener("click", () => { turning = !turning; turn.setAttribute("aria-pressed", turning); step(); });
}

(async () => {
  try {
    const viewer = new Viewer(document.getElementById("tree"));
    viewer.age = AGE;
    viewer.show(await unzipped(document.getElementById("scene").textContent.trim()));
    wire(viewer);
    window.viewer = viewer;
  } catch (error) {
    const wrong = document.getElementById("wrong");
    wrong.hidden = false;
    wrong.textContent = "The tree cannot be drawn here: " + error.message;
  }
})();
