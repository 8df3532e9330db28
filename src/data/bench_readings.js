"use strict";
// Readings typed by hand: big fields, the chart that grows, what the last one did. What is shown as kept is on disk.
const kForms = {
  point: { label: "Point x, y", fields: ["x", "y"], line: (a, b) => a + " " + b },
  polar: { label: "Radius at a direction", fields: ["radius", "at, degrees"], line: (a, b) => "polar " + a + " at " + b },
  two: { label: "Diameter (two-point)", fields: ["diameter", "at, degrees (may be empty)"], line: (a, b) => "two-point " + a + (b ? " at " + b : "") },
  chord: { label: "Chord and sagitta", fields: ["chord", "sagitta"], line: (a, b) => "chord " + a + " sagitta " + b },
  overlay: { label: "Radius line on the screen", fields: ["radius", "+- (standard uncertainty)"], line: (a, b) => "overlay " + a + " +- " + b },
};

// Files of readings; a check sheet has its place with its part.
const readings_of = (all) => {
  const parts = all.parts.map((p) => p.file.replace(/\.json$/, ""));
  return all.readings.filter((r) => !parts.some((p) => r.startsWith(p + "-check")));
};

// What 'record' is told of readings before the first, and how they are read.
const kReadAs = [
  { name: "digits", label: "Decimals of a number typed without a point", hint: "4", inputmode: "numeric" },
  { name: "along", label: "They are taken", choices: { "": "round the part", radius: "along the axis: position and radius", diameter: "along the axis: position and diameter", edge: "along the axis: position and edge" }, first: true },
  { name: "arc", label: "Of the part there is to see", choices: { "": "the whole round", yes: "an arc alone" } },
  { name: "calibration", label: "Comparator stage's file" },
  { name: "temperature", label: "Temperature of the part (with its material)", hint: "23C" },
  { name: "material", label: "Material of the part", hint: "POM-C" },
];
// What 'fit' is told when the answer is kept.
const kKeptAs = [
  { name: "kind", label: "What it is", choices: { "": "outside", ...Object.fromEntries(kKinds.slice(1).map((k) => [k, k])) } },
  { name: "sigma", label: "A reading is known to", hint: "0.002mm", length: true },
  { name: "form", label: "Out of round at most, or none", hint: "0.05mm", length: true },
  { name: "nominal", label: "Nominal size", hint: "12.5mm", length: true },
  { name: "plain", label: "Readings", choices: { "": "doubtful ones are left out", yes: "all count alike" } },
];
function said_fields(list, id, kept = () => "") {
  return Object.fromEntries(list.map((f) => {
    const input = f.choices ? el("select", { id: id + f.name }, Object.entries(f.choices).map(([k, w]) => el("option", { value: k, selected: k === kept(f.name) }, w)))
      : el("input", { id: id + f.name, value: kept(f.name), placeholder: f.hint, inputmode: f.inputmode, autocomplete: "off" });
    if (f.length) takes_length(input);
    if (f.name === "material") offers_materials(input, "aged");
    return [f.name, { ...f, input, node: el("label", { for: id + f.name }, f.label, input) }];
  }));
}
const said_of = (fields) => Object.fromEntries(Object.entries(fields).map(([name, f]) => [name, f.input.value.trim()]).filter(([, words]) => words));

// Several files of one part: a feature each, in one record.
function several_files(files) {
  const ticks = files.map((f) => el("input", { type: "checkbox", value: f, "aria-label": "With " + f })), part = el("input", { id: "several-part", placeholder: "roller.json", autocomplete: "off" });
  const rows = el("ul", { class: "list ticks" }, files.map((f, i) => el("li", {}, files.length > 1 ? ticks[i] : "", el("a", { href: "#/readings/" + q(f) }, f))));
  return [rows, files.length > 1 ? el("form", { class: "row writes", onsubmit: tried(async () => {
    const [file, ...others] = ticks.filter((t) => t.checked).map((t) => t.value), name = part.value.trim();
    if (!file || !name) throw new Error("Needed: ticked files, and a name for the part record.");
    const record = name.endsWith(".json") ? name : name + ".json";
    await ask("/api/keep", { file, others: others.join("\n"), part: record });
    location.hash = "#/part/" + q(record);
  }) }, el("label", { for: "several-part" }, "Part record", part), el("button", {}, "Keep the ticked ones in it")) : null];
}

async function readings_list() {
  const all = await ask("/api/parts"), files = readings_of(all), tables = (await tables_among(files)).map((t) => t.file);
  const read = files.filter((f) => !tables.includes(f));
  const name = el("input", { id: "new-file", placeholder: "roller.csv", autocomplete: "off" });
  show("Readings",
    read.length ? several_files(read) : el("p", {}, "No file of readings yet."),
    all.read_only ? null : el("form", { class: "row", onsubmit: tried(async () => {
      const file = name.value.trim();
      if (!file) throw new Error("Needed a name for the file.");
      location.hash = "#/readings/" + q(file.endsWith(".csv") ? file : file + ".csv");
    }) }, el("label", { for: "new-file" }, "New file of readings", name), el("button", { class: "first" }, "Begin")));
}

// The readings of a file with their numbers, as 'record' counts them: a deleted one keeps its number.
function numbered(text) {
  let number = 0;
  const standing = [];
  for (const line of text.split("\n")) {
    if (/^\s*# deleted:/.test(line)) number += 1;
    const body = line.replace(/#.*/, "").trim();
    if (body && /\d/.test(body)) standing.push({ number: ++number, body, note: line.includes("#") ? line.replace(/^[^#]*#\s*/, "") : "" });
  }
  return standing;
}

// What the program says of words to type is done with buttons here.
const with_buttons = (text) => text.replace(/ \('correct [^']*'\), or keep \/ delete/, ", or say with a button how it stands");

let readings_clock = 0;
async function readings_view(file) {
  const all = await ask("/api/parts"), reading = (name) => "read-" + file + "-" + name;
  const stages = { "": all.bench.stage ? "that of the bench file" : "none", ...Object.fromEntries(all.calibrations.map((c) => [c, c])) };
  const read_as = said_fields(kReadAs.map((f) => f.name === "calibration" ? { ...f, choices: stages } : f), "h-", (name) => remembered.get(reading(name)));
  const look = () => ask("/api/readings?file=" + q(file) + Object.entries(said_of(read_as)).map(([name, words]) => "&" + name + "=" + q(words)).join(""));
  let state = await look();
  const here = location.hash, draft = "draft-" + file;
  const form = el("select", { id: "form" }, Object.entries(kForms).map(([k, f]) => el("option", { value: k, selected: k === remembered.get("form") }, f.label)));
  const unit = el("select", { id: "unit" }, ["mm", "in", "thou"].map((u) => el("option", { value: u, selected: u === (remembered.get("unit") || unit_first()) }, u)));
  const fields = [0, 1].map((i) => el("input", { id: "r" + i, class: "big", inputmode: "decimal", enterkeyhint: i ? "send" : "next", autocomplete: "off" }));
  const labels = fields.map((input, i) => el("label", { for: "r" + i }, el("span", {}), input));
  const answer = el("p", { class: "answer", role: "status" }), doubts = el("div", { class: "row" });
  const chart = el("div", {}), list = el("ol", { class: "readings" }), unit_row = el("label", { for: "unit" }, "Unit", unit);
  const words = el("input", { id: "words", autocomplete: "off", placeholder: "note burr at the gate" });
  const part = el("input", { id: "keep-part", value: file.replace(/\.csv$/, ".json"), autocomplete: "off" });
  const feature = el("input", { id: "keep-feature", value: "outside", autocomplete: "off" });
  const again = { number: 0 }, kept_as = said_fields(kKeptAs, "k-"), in_full = el("div", { role: "status" }), away = el("p", {}), open_table = el("p", {}), form_row = el("label", { for: "form" }, "Kind of reading", form);
  // A profile has no name of its own, nor what only a round edge has.
  const asked = () => {
    const { digits, arc, along, ...read } = said_of(read_as), said = { file, ...read, ...said_of(kept_as) };
    return (state.record || {}).profile ? { file, calibration: read.calibration || "", sigma: said.sigma || "", material: read.material || "" } : { ...said, feature: feature.value.trim() };
  };
  const along_now = () => (/^# profile: (\w+)/m.exec(state.text || "") || ["", read_as.along.input.value])[1];
  const shape = () => {
    const along = along_now(), f = along ? { fields: ["position along the axis", along] } : kForms[form.value] || kForms.point;
    form_row.hidden = !!along;
    labels.forEach((label, i) => { label.firstChild.textContent = f.fields[i]; });
    remembered.set("form", form.value);
  };
  form.addEventListener("change", shape);
  fields[0].addEventListener("keydown", (event) => {
    if (event.key === "Enter" || event.key === " ") { event.preventDefault(); fields[1].focus(); }
  });
  fields.forEach((input) => input.addEventListener("input", () => remembered.set(draft, JSON.stringify(fields.map((f) => f.value)))));

  function draw() {
    const found = state.record && state.record.features && state.record.features[0];
    const standing = numbered(state.text || "");
    unit_row.hidden = standing.length > 0;
    read_as.along.node.hidden = standing.length > 0;
    const profile = (state.record || {}).profile;
    away.replaceChildren(standing.length ? as_file("Take the readings away", file, state.text) : "");
    open_table.replaceChildren(table_of(state.text || "") ? el("a", { href: "#/table/" + q(file) }, "This is a table: open it as one") : "");
    answer.textContent = with_buttons(state.answer || "") || (standing.length ? standing.length + " readings on file." : "Type the first reading: what you see here as kept is on disk.");
    answer.classList.toggle("wrong", /^not |^NOT /.test(state.answer || ""));
    chart.replaceChildren(...(profile ? [profile_figure(profile), profile_table(profile)] : found ? [feature_table([found]), roundness(found, state.next_deg) || ""] : [el("p", { class: "soft" }, state.why || "")]),
      state.next_deg !== undefined ? el("p", {}, "The next reading helps most near " + Math.round(state.next_deg) + " degrees.") : "");
    list.replaceChildren(...standing.slice().reverse().map((r) => el("li", {}, el("strong", {}, r.number + "  "), el("span", { class: "figure" }, r.body), r.note ? el("span", { class: "soft" }, "  " + r.note) : "",
      el("span", { class: "row tight writes" }, /^[a-z]/.test(r.body) && !r.body.startsWith("polar") ? "" : el("button", { type: "button", "aria-label": "Read " + r.number + " again", onclick: () => { again.number = r.number; answer.textContent = "Read " + r.number + " again and type it."; fields[0].focus(); } }, "Again"),
        el("button", { type: "button", "aria-label": "Delete " + r.number, onclick: typed("delete " + r.number) }, "Delete")))));
    const said = state.answer || "", asked = /\b(\d+)(?: kept, but)? is [\d.]+ \S+ (?:inside|outside) the others/.exec(said), meant = /was (\S+) meant/.exec(said);
    doubts.replaceChildren(...(asked ? [
      meant ? el("button", { type: "button", class: "first", onclick: typed("correct " + asked[1] + " " + meant[1]) }, "It was " + meant[1])
        : el("button", { type: "button", class: "first", onclick: typed("delete " + asked[1]) }, "Take " + asked[1] + " out"),
      el("button", { type: "button", onclick: typed("keep " + asked[1]) }, "It stands as read")] : []));
  }
  let sending = 0;
  const send = (line) => in_turn(async () => {
    const given = { file, line, seen: state.revision, ...said_of(read_as) };
    if (numbered(state.text || "").length) delete given.along;
    if (!numbered(state.text || "").length) given.unit = unit.value;
    remembered.set("unit", unit.value);
    sending += 1;
    try { state = await ask("/api/readings", given); } finally { sending -= 1; }
    shape();
    draw();
    if (/^not |^NOT /.test(state.answer)) throw new Error(state.answer);
  });
  const typed = (line) => tried(async () => { await send(line); fields[0].focus(); });

  // Somebody else may write to the same file: look now and then. What was looked up before or while a reading of this
  // page was on its way is older than its answer, or that reading itself.
  clearInterval(readings_clock);
  readings_clock = setInterval(async () => {
    if (location.hash !== here) return clearInterval(readings_clock);
    if (document.hidden || sending || view.hasAttribute("aria-busy")) return;
    const before = state, now = await look().catch(() => null);
    if (!now || sending || state !== before || location.hash !== here || now.revision === state.revision) return;
    state = { ...now, answer: "The readings were changed elsewhere; this is how they stand." };
    draw();
  }, 2500);

  show(file,
    el("form", { class: "writes", onsubmit: tried(async () => {
      const [a, b] = fields.map((f) => f.value.trim().replace(",", "."));
      if (!a) throw new Error("Needed a number.");
      const line = (along_now() ? kForms.point : kForms[form.value] || kForms.point).line(a, b);
      await send(again.number ? "again " + again.number + " " + line : line);
      again.number = 0;
      fields.forEach((f) => { f.value = ""; });
      remembered.set(draft, "");
      fields[0].focus();
    }) }, el("div", { class: "row" }, labels, el("button", { class: "first" }, "Keep")),
      el("div", { class: "row" }, form_row, unit_row)),
    answer, doubts,
    el("div", { class: "row writes" }, el("button", { type: "button", onclick: typed("undo") }, "Undo the last")),
    el("div", { class: "pair" }, chart, el("section", {}, el("h2", {}, "On file"), list)),
    open_table,
    el("details", {}, el("summary", {}, "How they are read"), el("div", { class: "row" }, Object.values(read_as).map((f) => f.node))),
    el("details", { class: "writes" }, el("summary", {}, "A note, or words as to 'record'"), el("form", { class: "row", onsubmit: tried(async () => {
      await send(words.value.trim());
      words.value = "";
    }) }, el("label", { for: "words" }, "Words", words), el("button", {}, "Send"))),
    el("h2", { class: "writes" }, "Keep the answer"),
    el("form", { class: "row writes", onsubmit: tried(async () => {
      const name = part.value.trim(), record = name.endsWith(".json") ? name : name + ".json";
      await ask("/api/keep", { ...asked(), part: record });
      location.hash = "#/part/" + q(record);
    }) }, el("label", { for: "keep-part" }, "Part record", part), el("label", { for: "keep-feature" }, "Name of this edge", feature),
      el("button", { class: "first" }, "Keep in the record"),
      el("details", { class: "across" }, el("summary", {}, "What it is, form and more"), el("div", { class: "row" }, Object.values(kept_as).map((f) => f.node)))),
    el("div", { class: "row" }, el("button", { type: "button", onclick: tried(async () => {
      const { text } = await ask("/api/keep", asked());
      in_full.replaceChildren(el("pre", { tabindex: "0" }, text));
    }) }, "Every figure")), in_full, away);
  for (const f of Object.values(read_as)) f.input.addEventListener("change", tried(async () => {
    remembered.set(reading(f.name), f.input.value.trim());
    state = await look();
    shape();
    draw();
  }));
  try { JSON.parse(remembered.get(draft)).forEach((value, i) => { fields[i].value = value; }); } catch { /* none */ }
  shape();
  draw();
  fields[0].focus();
}
