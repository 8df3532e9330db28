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

async function readings_list() {
  const all = await ask("/api/parts");
  const name = el("input", { id: "new-file", placeholder: "roller.csv", autocomplete: "off" });
  show("Readings",
    readings_of(all).length ? el("ul", { class: "list" }, readings_of(all).map((r) => el("li", {}, el("a", { href: "#/readings/" + q(r) }, r)))) : el("p", {}, "No file of readings yet."),
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
  let state = await ask("/api/readings?file=" + q(file));
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
  const again = { number: 0 }, all = await ask("/api/parts");
  const choice = (id, words) => el("select", { id }, Object.entries(words).map(([k, w]) => el("option", { value: k }, w)));
  const how = [
    { name: "kind", label: "What it is", input: choice("k-kind", { "": "outside", bore: "bore", arc: "arc" }) },
    { name: "calibration", label: "Comparator stage's file", input: choice("k-calibration", { "": "none", ...Object.fromEntries(all.calibrations.map((c) => [c, c])) }) },
    ...Object.entries({ temperature: ["Temperature of the part (with its material)", "23C"], sigma: ["A reading is known to", "0.002mm"], form: ["Out of round at most, or none", "0.05mm"],
      nominal: ["Nominal size", "12.5mm"], material: ["Material of the part", "POM-C"] })
      .map(([name, [label, hint]]) => ({ name, label, input: el("input", { id: "k-" + name, placeholder: hint, autocomplete: "off" }) })),
  ];

  const shape = () => {
    const f = kForms[form.value] || kForms.point;
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
    answer.textContent = with_buttons(state.answer || "") || (standing.length ? standing.length + " readings on file." : "Type the first reading: what you see here as kept is on disk.");
    answer.classList.toggle("wrong", /^not |^NOT /.test(state.answer || ""));
    chart.replaceChildren(...(found ? [feature_table([found]), roundness(found, state.next_deg) || ""] : [el("p", { class: "soft" }, state.why || "")]),
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
    const given = { file, line, seen: state.revision };
    if (!numbered(state.text || "").length) given.unit = unit.value;
    remembered.set("unit", unit.value);
    sending += 1;
    try { state = await ask("/api/readings", given); } finally { sending -= 1; }
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
    const before = state, now = await ask("/api/readings?file=" + q(file)).catch(() => null);
    if (!now || sending || state !== before || location.hash !== here || now.revision === state.revision) return;
    state = { ...now, answer: "The readings were changed elsewhere; this is how they stand." };
    draw();
  }, 2500);

  show(file,
    el("form", { class: "writes", onsubmit: tried(async () => {
      const [a, b] = fields.map((f) => f.value.trim().replace(",", "."));
      if (!a) throw new Error("Needed a number.");
      const line = (kForms[form.value] || kForms.point).line(a, b);
      await send(again.number ? "again " + again.number + " " + line : line);
      again.number = 0;
      fields.forEach((f) => { f.value = ""; });
      remembered.set(draft, "");
      fields[0].focus();
    }) }, el("div", { class: "row" }, labels, el("button", { class: "first" }, "Keep")),
      el("div", { class: "row" }, el("label", { for: "form" }, "Kind of reading", form), unit_row)),
    answer, doubts,
    el("div", { class: "row writes" }, el("button", { type: "button", onclick: typed("undo") }, "Undo the last")),
    el("div", { class: "pair" }, chart, el("section", {}, el("h2", {}, "On file"), list)),
    el("details", { class: "writes" }, el("summary", {}, "A note, or words as to 'record'"), el("form", { class: "row", onsubmit: tried(async () => {
      await send(words.value.trim());
      words.value = "";
    }) }, el("label", { for: "words" }, "Words", words), el("button", {}, "Send"))),
    el("h2", { class: "writes" }, "Keep the answer"),
    el("form", { class: "row writes", onsubmit: tried(async () => {
      await ask("/api/keep", { file, part: part.value.trim(), feature: feature.value.trim(), ...Object.fromEntries(how.map((f) => [f.name, f.input.value.trim()]).filter(([, words]) => words)) });
      location.hash = "#/part/" + q(part.value.trim());
    }) }, el("label", { for: "keep-part" }, "Part record", part), el("label", { for: "keep-feature" }, "Name of this edge", feature),
      el("button", { class: "first" }, "Keep in the record"),
      el("details", { class: "across" }, el("summary", {}, "Stage, temperature and more"), el("p", { class: "soft" }, "These act on what is kept; the chart above is drawn without them."),
        el("div", { class: "row" }, how.map((f) => el("label", { for: "k-" + f.name }, f.label, f.input))))));
  try { JSON.parse(remembered.get(draft)).forEach((value, i) => { fields[i].value = value; }); } catch { /* none */ }
  shape();
  draw();
  fields[0].focus();
}
