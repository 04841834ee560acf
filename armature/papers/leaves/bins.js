"use strict";
const data = JSON.parse(document.getElementById("data").textContent);
const body = document.getElementById("bins"), told = document.getElementById("told");
const grades = ["best", "plain", "wild", "scrap"];
const rows = data.designs.map(d => {
  const row = document.createElement("tr"), head = document.createElement("td");
  head.textContent = d.number + "  " + d.form; row.append(head);
  const cells = grades.map(grade => {
    const cell = document.createElement("td"), box = document.createElement("input");
    box.type = "number"; box.min = "0"; box.inputMode = "numeric"; box.value = d[grade] ?? "";
    box.setAttribute("aria-label", "design " + d.number + ", " + grade);
    box.addEventListener("input", count); cell.append(box); row.append(cell); return box;
  });
  const sum = document.createElement("td"); row.append(sum); body.append(row);
  return { d, cells, sum };
});
function count() {
  let off = 0;
  for (const r of rows) {
    const all = r.cells.reduce((sum, box) => sum + (Number(box.value) || 0), 0);
    r.sum.textContent = all + " of " + r.d.cut;
    r.sum.className = all === r.d.cut ? "" : "warn";
    off += all !== r.d.cut;
  }
  told.textContent = off ? off + " designs do not add up yet" : "all add up";
}
document.getElementById("save").addEventListener("click", () => {
  const lines = rows.map(r => [r.d.number, ...r.cells.map(box => Number(box.value) || 0)].join(","));
  const link = document.createElement("a");
  link.href = URL.createObjectURL(new Blob(["design," + grades.join(",") + "\r\n" + lines.join("\r\n") + "\r\n"], { type: "text/csv" }));
  link.download = "piles.csv"; link.click();
});
count();
