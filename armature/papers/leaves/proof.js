"use strict";
const data = JSON.parse(document.getElementById("data").textContent);
const list = document.getElementById("list"), told = document.getElementById("told");
const cell = (kind, text, parent) => {
  const one = document.createElement(kind === "name" ? "div" : "div");
  one.className = kind; one.textContent = text; one.dir = "auto"; parent.append(one); return one;
};
const rows = data.names.map((n, k) => {
  const row = document.createElement("div");
  row.className = n.change ? "row changed" : "row";
  row.setAttribute("role", "group"); row.setAttribute("aria-label", n.name);
  const who = document.createElement("div"); row.append(who);
  cell("name", n.name, who);
  cell("small", [n.family && "family " + n.family, n.gift && "gift: " + n.gift].filter(Boolean).join("; "), who);
  cell("struck", n.lines.join("\n"), row);
  const where = document.createElement("div"); row.append(where);
  cell("small", n.where, where);
  if (n.wish) cell("small", "wish: " + n.wish, where);
  if (n.missed) cell("small warn", "not met: " + n.missed, where);
  if (n.change) cell("small warn", n.change, where);
  const answer = document.createElement("div"); row.append(answer);
  const label = document.createElement("label"), ok = document.createElement("input");
  ok.type = "checkbox"; ok.checked = n.signed; label.append(ok, "right as it stands");
  const other = document.createElement("input");
  other.type = "text"; other.placeholder = "or: spell it"; other.setAttribute("aria-label", "Spell " + n.name + " otherwise");
  other.dir = "auto";
  ok.addEventListener("change", count); other.addEventListener("input", count);
  answer.append(label, other); list.append(row);
  return { n, ok, other };
});
function count() {
  const ok = rows.filter(r => r.ok.checked && !r.other.value.trim()).length;
  const asked = rows.filter(r => r.other.value.trim()).length;
  told.textContent = ok + " of " + rows.length + " right" + (asked ? ", " + asked + " to spell otherwise" : "");
}
const quoted = text => '"' + text.replaceAll('"', '""') + '"';
document.getElementById("save").addEventListener("click", () => {
  const lines = rows.map(r => [r.n.leaf, r.n.name, r.ok.checked ? "ok" : "", r.other.value.trim()].map(quoted).join(","));
  const text = "\ufeffleaf,name,verdict,correction\r\n" + lines.join("\r\n") + "\r\n";
  const link = document.createElement("a");
  link.href = URL.createObjectURL(new Blob([text], { type: "text/csv" }));
  link.download = "names-checked.csv"; link.click();
});
count();
