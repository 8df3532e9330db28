"use strict";
// Files to take away, words of the commands in full, and the names of materials.
const as_file = (words, name, text, type = "text/csv") =>
  el("a", { class: "file", download: name, href: "data:" + type + ";charset=utf-8," + encodeURIComponent(text) }, words);
const every_figure = (text) => text ? el("details", {}, el("summary", {}, "Every figure"), el("pre", { tabindex: "0" }, text)) : "";
const kKinds = ["outside", "bore", "bore-on-metal", "width", "arc", "metal"];

// Several files are one table: the head stands once.
function one_table(tables) {
  const filled = tables.filter(Boolean);
  return filled.map((t, i) => i ? t.slice(t.indexOf("\n") + 1) : t).join("");
}

// The names of materials are offered as one types: those of old parts, those that are worked.
let materials_asked = null;
function offers_materials(input, which) {
  input.setAttribute("list", which);
  materials_asked = materials_asked || ask("/api/materials").then((known) => {
    for (const list of ["aged", "made"])
      document.body.append(el("datalist", { id: list }, known[list].map((name) => el("option", { value: name }))));
    return known;
  }).catch(() => { materials_asked = null; });
  return input;
}
// What is known of them, in words.
const material_words = () => {
  const words = el("pre", { tabindex: "0" });
  const box = el("details", {}, el("summary", {}, "Materials that are known"), words);
  box.addEventListener("toggle", tried(async () => { if (box.open && !words.textContent) words.textContent = (await ask("/api/materials")).text; }));
  return box;
};
// Several words in one field, a line each for the program.
const by_lines = (text) => text.split(";").map((x) => x.trim()).filter(Boolean).join("\n");

// ---- tables that the commands read, a row at a time
const kTables = {
  tools: { words: "Tools on the shelf", columns: ["name", "kind", "radius", "diameter", "thickness", "unit"], kinds: ["cutter", "wheel", "gauge", "arbor", "paper", "cloth"], file: "tools.csv" },
  steps: { words: "Steps along the axis", columns: ["name", "length", "outside", "end_outside", "crown_radius", "bore", "unit"], file: "steps.csv" },
  sizes: { words: "Sizes of a part", columns: ["name", "kind", "size", "u", "unit", "u_made", "minor"], kinds: kKinds, file: "sizes.csv" },
  grids: { words: "Sizes that a designer writes", columns: ["system", "grid", "step_mm", "weight"], systems: ["metric", "inch"], file: "grids.csv" },
};
const kColumnWords = { name: "Name", kind: "Kind", radius: "Radius", diameter: "Diameter", thickness: "Thickness", unit: "Unit", length: "Length", outside: "Outside diameter",
  end_outside: "Outside at its end, when tapered", crown_radius: "Radius of the crown", bore: "Bore", size: "Size", u: "Standard uncertainty", u_made: "Spread of the making", minor: "Smallest diameter, when oval",
  system: "System", grid: "Name of the steps", step_mm: "Step, mm", weight: "Weight" };
const words_of_line = (line) => line.split(",").map((x) => x.trim());
// { kind, head, comments, rows }; none: no such table, or one that is written otherwise.
function table_of(text) {
  const lines = text.split(/\r?\n/).filter((l) => l.trim()), comments = lines.filter((l) => l.startsWith("#")), rows = lines.filter((l) => !l.startsWith("#"));
  const head = rows.length ? words_of_line(rows[0]) : [];
  const kind = Object.keys(kTables).find((k) => kTables[k].columns.slice(0, 3).every((c, i) => head[i] === c));
  return kind && !text.includes('"') ? { kind, head, comments, rows: rows.slice(1).map(words_of_line) } : null;
}
// Those of the files that are such tables.
const tables_among = async (files) =>
  (await Promise.all(files.map((file) => ask("/api/table?file=" + q(file)).catch(() => ({ text: "" }))))).map((t, i) => ({ file: files[i], table: table_of(t.text) })).filter((t) => t.table);
const text_of_table = (table) => [...table.comments, table.head.join(","), ...table.rows.map((r) => r.join(","))].join("\n") + "\n";

async function tables_view() {
  const all = await ask("/api/parts"), files = readings_of(all);
  const kind = el("select", { id: "t-kind" }, Object.entries(kTables).map(([k, t]) => el("option", { value: k }, t.words)));
  const name = el("input", { id: "t-file", value: kTables.tools.file, autocomplete: "off" });
  kind.addEventListener("change", () => { name.value = kTables[kind.value].file; });
  const known = await tables_among(files);
  show("Tables", el("p", {}, "Tools, steps along the axis, sizes from a notebook, and the sizes that a designer writes."),
    known.length ? el("ul", { class: "list" }, known.map((t) => el("li", {}, el("a", { href: "#/table/" + q(t.file) }, t.file), el("p", { class: "soft" }, kTables[t.table.kind].words + ", " + t.table.rows.length + " lines")))) : el("p", {}, "None in this folder yet."),
    all.read_only ? null : el("form", { class: "row", onsubmit: tried(() => {
      const file = name.value.trim();
      if (!file) throw new Error("Needed a name for the file.");
      location.hash = "#/table/" + q(file.endsWith(".csv") ? file : file + ".csv") + "/" + kind.value;
    }) }, el("label", { for: "t-kind" }, "What it holds", kind), el("label", { for: "t-file" }, "New table", name), el("button", { class: "first" }, "Begin")));
}

async function table_view(file, wanted) {
  let state = await ask("/api/table?file=" + q(file));
  const read = () => state.text ? table_of(state.text) : kTables[wanted] ? { kind: wanted, head: kTables[wanted].columns, comments: [], rows: [] } : null;
  let table = read(), changed = -1;
  if (!table) throw new Error(file + " is no table that can be changed here.");
  const kind = kTables[table.kind], list = el("ol", { class: "list lines" });
  const choice = (column) => column === "kind" ? kind.kinds : column === "unit" ? ["mm", "in"] : column === "system" ? kind.systems : null;
  const cells = table.head.map((column) => {
    const input = choice(column) ? el("select", { id: "c-" + column }, choice(column).map((c) => el("option", { value: c, selected: column === "unit" && c === unit_first() }, c)))
      : el("input", { id: "c-" + column, autocomplete: "off", inputmode: ["name", "grid"].includes(column) ? undefined : "decimal" });
    return { input, node: el("label", { for: "c-" + column, class: "short" }, kColumnWords[column] || column, input) };
  });
  const send = async () => { state = await ask("/api/table", { file, text: text_of_table(table), seen: state.revision || "" }); table = read(); changed = -1; draw(); };
  const add = el("button", { class: "first" }, "Add");
  function draw() {
    add.textContent = changed < 0 ? "Add" : "Change line " + (changed + 1);
    list.replaceChildren(...table.rows.map((row, i) => el("li", {}, el("span", { class: "words" }, el("strong", {}, row[0]), " ", row.slice(1).filter(Boolean).join(", ")),
      el("span", { class: "row tight writes" }, el("button", { type: "button", "aria-label": "Change " + row[0], onclick: () => { changed = i; cells.forEach((c, k) => { c.input.value = row[k] || c.input.value; }); draw(); cells[0].input.focus(); } }, "Change"),
        el("button", { type: "button", "aria-label": "Take out " + row[0], onclick: tried(async () => { table.rows.splice(i, 1); await send(); }) }, "Take out")))));
  }
  const record = el("input", { id: "t-record", value: file.replace(/\.csv$/, ".json"), autocomplete: "off" });
  show(file, el("p", {}, kind.words + "."), list,
    el("form", { class: "writes", onsubmit: tried(async () => {
      const row = cells.map((c) => c.input.value.trim().replace(/^(\d*),(\d+)$/, "$1.$2"));
      if (row.some((x) => /[,"#]/.test(x))) throw new Error("A comma, a quote or # cannot stand in a line of this table.");
      if (!row[0]) throw new Error("Needed: " + (kColumnWords[table.head[0]] || table.head[0]) + ".");
      const before = table.rows.slice();
      if (changed < 0) table.rows.push(row); else table.rows[changed] = row;
      try { await send(); } catch (error) { table.rows = before; throw error; }
      for (const c of cells) if (c.input.tagName === "INPUT") c.input.value = "";
      cells[0].input.focus();
    }) }, el("div", { class: "row" }, cells.map((c) => c.node)), add),
    table.kind === "sizes" ? el("form", { class: "row writes", onsubmit: tried(async () => {
      const part = record.value.trim().endsWith(".json") ? record.value.trim() : record.value.trim() + ".json";
      await work("Weighing the sizes", "/api/original", { sizes: file, part, unit: unit_first() });
      location.hash = "#/original/" + q(part);
    }) }, el("label", { for: "t-record" }, "Part record", record), el("button", {}, "Ask what it was drawn as")) : null,
    el("p", {}, as_file("Take the table away", file, state.text || "")));
  draw();
}
