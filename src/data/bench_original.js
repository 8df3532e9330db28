"use strict";
// What it was drawn as: candidates as bars that move when something more is known; what to measure next leads to the place
// to enter it.
const kEvidence = [
  { name: "material", label: "Material of the old part", hint: "POM-C" },
  { name: "on_metal", label: "Sizes moulded on their metal shaft", hint: "bore", often: true },
  { name: "turns", label: "Turns a minute it must make", hint: "240+-1%", group: "speed" },
  { name: "surface_speed", label: "at this speed of film, belt or rim", hint: "150mm/s+-1%", group: "speed" },
  { name: "ratio", label: "Turns for one turn of its mate", hint: "2.45+-1%", group: "ratio" },
  { name: "mating", label: "Diameter of the mate", hint: "30.0mm+-0.05mm", group: "ratio" },
  { name: "belt", label: "Belt or film between, thickness", hint: "0.13mm", group: "ratio" },
  { name: "evidence", label: "What a mating part or catalogue says", hint: "outside=12.30mm+-0.15mm", often: true },
  { name: "crack_gap", label: "Gap of a hub cracked open", hint: "0.2mm+-0.02mm" },
  { name: "shrinkage", label: "Shrinkage, when it is known", hint: "0.3%+-0.2%" },
  { name: "mating_turns", label: "Turns a minute of the mate, instead of a ratio", hint: "980+-1%", rare: true },
  { name: "drive", label: "Surface that the drive runs on", hint: "outside", rare: true },
  { name: "worn", label: "Surfaces that ran and may be worn", hint: "outside", often: true, rare: true },
  { name: "shape", label: "Why it is oval, when it is known", choices: { "": "not known", uneven: "it shrank unevenly", bent: "it was bent", worn: "it is worn" }, rare: true },
  { name: "about", label: "The size in question", hint: "outside", rare: true },
  { name: "could_measure", label: "What could still be measured: name, kind, about", hint: "hub,outside,6mm", often: true, rare: true },
  { name: "learn", label: "Write the sizes this designer used into a new table", hint: "designer.csv", rare: true, once: true },
  { name: "called", label: "Name of the part", hint: "roller", rare: true },
  { name: "mark", label: "Maker's mark on it", hint: "K 4", rare: true },
  { name: "date", label: "Made, or looked at", hint: "1974", rare: true },
  { name: "note", label: "Note", hint: "from the left reel", rare: true },
  { name: "confidence", label: "Undecided below a chance of", hint: "80%", rare: true },
  { name: "metric_prior", label: "Chance of a metric drawing beforehand, 0 to 1", hint: "0.5", rare: true },
];
// Where a suggestion is answered: by the option it names, else by a size of that kind.
function place_of(suggestion) {
  const what = suggestion.what, option = /\(--([a-z-]+)\)/.exec(what);
  if (option) return { field: option[1].replace(/-/g, "_") };
  if (/metal shaft|pin it runs on/.test(what)) return { add: "shaft", kind: "metal" };
  if (/width/.test(what)) return { add: "width", kind: "width" };
  const again = /^measure '([^']+)' again/.exec(what);
  if (again) return { add: again[1], kind: "outside" };
  return { add: "hub", kind: "outside" };
}

// As the program's own texts say it: a tenth of a bit is from 60 to 70 % sure between two sizes.
const help_words = (gain, best) => gain < 0.1 ? "helps a little" : gain >= best ? "helps most" : gain >= best / 2 ? "helps nearly as much" : "helps";

async function original_view(file) {
  let record = await ask("/api/part?file=" + q(file));
  let before = new Map();
  const note = (name) => "evidence-" + file + "-" + name;
  const fields = Object.fromEntries(kEvidence.map((e) => {
    const kept = remembered.get(note(e.name)) || (e.name === "material" ? (record.part || {}).material || "" : "");
    const input = e.choices ? el("select", { id: "e-" + e.name }, Object.entries(e.choices).map(([k, words]) => el("option", { value: k, selected: k === kept }, words)))
      : el("input", { id: "e-" + e.name, value: kept, placeholder: e.hint, autocomplete: "off" });
    if (e.name === "material") offers_materials(input, "aged");
    input.addEventListener("change", () => answer_now());
    return [e.name, { ...e, input, node: el("label", { for: "e-" + e.name }, e.label, input) }];
  }));
  const answer = el("div", { "aria-live": "polite" }), next = el("div", {}), added = el("div", {}), in_full = el("div", {});
  const all = await ask("/api/parts"), grids = el("select", { id: "e-grids" }, el("option", { value: "" }, "built in"),
    readings_of(all).map((r) => el("option", { value: r, selected: r === remembered.get(note("grids")) }, r)));
  grids.addEventListener("change", () => answer_now());
  fields.grids = { name: "grids", rare: true, input: grids, node: el("label", { for: "e-grids" }, "Which sizes this designer writes", grids) };
  const more_of_it = Object.entries({ at: ["Direction of each reading, degrees", "0 60 120"], same: ["A word for its drawing, the same on equal parts", "idler"] })
    .map(([name, [label, hint]]) => ({ name, input: el("input", { id: "a-" + name, placeholder: hint, autocomplete: "off" }), label }));
  const size = {
    name: el("input", { id: "a-name", value: "shaft", autocomplete: "off" }),
    kind: el("select", { id: "a-kind" }, ["metal", "outside", "bore", "bore-on-metal", "width", "arc"].map((k) => el("option", { value: k }, k))),
    sizes: el("input", { id: "a-sizes", placeholder: "3.000mm 2.999mm", autocomplete: "off" }),
  };

  let asked = "";
  const ask_original = tried(() => in_turn(async () => {
    const given = { part: file };
    for (const f of Object.values(fields)) {
      if (!f.once) remembered.set(note(f.name), f.input.value.trim());
      given[f.name] = f.often ? by_lines(f.input.value) : f.input.value.trim();
    }
    if (record.original && JSON.stringify(given) === asked) return;  // a field left and a button pressed are one question
    asked = JSON.stringify(given);
    given.unit = unit_first();
    given.seen = record.revision;
    for (const f of (record.original || {}).features || [])
      for (const c of f.candidates || []) before.set(f.name + c.label, c.probability);
    const { text } = await work("Weighing the sizes", "/api/original", given);
    in_full.replaceChildren(every_figure(text));
    fields.learn.input.value = "";
    if (on_phone() && !more.contains(document.activeElement)) more.open = false;
    record = await ask("/api/part?file=" + q(file));
    draw();
  }).catch((error) => { asked = ""; throw error; }));
  const answer_now = () => ask_original().catch(() => {});

  function bars(feature) {
    const shown = (feature.candidates || []).slice(0, 6), chosen = remembered.get("choose-" + file + "-" + feature.name);
    const rows = shown.map((c) => {
      const was = before.get(feature.name + c.label), moved = was === undefined ? 0 : c.probability - was;
      const bar = el("div", { class: "bar" }), ghost = was === undefined ? "" : el("div", { class: "ghost" });
      bar.style.width = 100 * c.probability + "%";
      if (ghost) ghost.style.width = 100 * was + "%";
      return el("li", {}, el("button", { type: "button", class: "candidate", "aria-pressed": chosen === c.label ? "true" : "false",
        "aria-label": c.label + ", " + chance(c.probability) + (Math.abs(moved) >= 0.005 ? ", was " + chance(was) : "") + (chosen === c.label ? ", chosen" : ""),
        onclick: () => { remembered.set("choose-" + file + "-" + feature.name, chosen === c.label ? "" : c.label); draw(); } },
        el("span", { class: "name" }, (chosen === c.label ? "\u2713 " : "") + c.label), el("span", { class: "track" }, ghost, bar),
        el("span", { class: "share" }, chance(c.probability) + (Math.abs(moved) >= 0.005 ? (moved > 0 ? " \u2191" : " \u2193") : ""))));
    });
    const others = 1 - shown.reduce((sum, c) => sum + c.probability, 0);
    const rest = others > 0.005 ? el("p", { class: "soft" }, "All other sizes together " + Math.round(100 * others) + " %.") : "";
    return el("section", {}, el("h3", {}, feature.name, feature.measured_mm ? el("span", { class: "soft" }, "  measured " + one_unit(feature.measured_mm)) : ""),
      feature.undecided ? el("p", { class: "wrong" }, "Not decided: what was measured does not tell the likeliest well enough from the others.") : "", el("ul", { class: "bars" }, rows), rest);
  }

  function lead(suggestion) {
    const to = place_of(suggestion);
    if (to.field && fields[to.field]) { more.open = true; rare.open = rare.open || !!fields[to.field].rare; fields[to.field].input.focus(); return; }
    adding.open = true;
    size.name.value = to.add || "hub";
    size.kind.value = to.kind || "outside";
    size.sizes.focus();
  }

  function draw() {
    const original = record.original;
    if (!original) answer.replaceChildren(el("p", { class: "soft" }, "Not asked yet."));
    else {
      const s = original.shrinkage || {};
      answer.replaceChildren(...original.features.map(bars),
        s.mean !== undefined && Math.max(...s.interval95) >= 5e-5 ? el("p", {}, "Shrunk since by " + (100 * s.mean).toFixed(2) + " % (95 %: " + s.interval95.map((x) => (100 * x).toFixed(2)).join(" to ") + " %). " + (s.source || "")) : "",
        original.unit_system ? el("p", {}, "Drawn in mm " + chance(original.unit_system.metric) + ", in inches " + chance(original.unit_system.inch) + ".") : "",
        ...(original.evidence || []).map((e) => el("p", { class: e.left_out ? "wrong" : "soft" }, (e.source || "evidence") + ": " + one_unit(e.size_mm) + " \u00b1 " + one_unit(e.u_mm) +
          (e.left_out ? ". It contradicts what was measured and is left out." : ""))),
        original.reasons ? el("details", {}, el("summary", {}, "Why"), el("ul", {}, original.reasons.map((r) => el("li", {}, r)))) : "");
    }
    const suggestions = (original || {}).measure_next || [];
    next.replaceChildren(...(suggestions.length ? [el("h2", {}, "What to measure next"), el("ul", { class: "list" }, suggestions.map((m) =>
      el("li", {}, el("button", { type: "button", class: "wide", onclick: () => lead(m) }, m.what.replace(/ \(--[a-z-]+\)/, "")),
        el("p", { class: "soft" }, help_words(m.expected_gain_bits, suggestions[0].expected_gain_bits))))) ] : []));
  }

  const rare = el("details", {}, el("summary", {}, "Rarely needed"), el("div", { class: "row" }, Object.values(fields).filter((f) => f.rare).map((f) => f.node)), material_words());
  const more = el("details", { open: !record.original }, el("summary", {}, "What else is known"),
    el("div", { class: "row" }, Object.values(fields).filter((f) => !f.rare && !["material", "on_metal"].includes(f.name)).map((f) => f.node)), rare);
  const adding = el("details", { class: "writes" }, el("summary", {}, "Add a size of calliper or micrometer"),
    el("form", { class: "row", onsubmit: tried(async () => {
      await in_turn(async () => {
        await work("Adding", "/api/add", { part: file, name: size.name.value.trim(), kind: size.kind.value, sizes: size.sizes.value.trim(), unit: unit_first(), seen: record.revision,
          ...Object.fromEntries(more_of_it.map((f) => [f.name, f.name === "at" ? f.input.value.trim().split(/[\s;]+/).join("\n") : f.input.value.trim()]).filter(([, words]) => words)) });
        record = await ask("/api/part?file=" + q(file));
      });
      asked = "";
      added.replaceChildren(el("p", {}, size.name.value + " is in the record."));
      size.sizes.value = "";
      await ask_original();
    }) }, el("label", { for: "a-name" }, "Which", size.name), el("label", { for: "a-kind" }, "What it is", size.kind),
      el("label", { for: "a-sizes" }, "Readings", size.sizes), el("button", {}, "Add"),
      el("details", { class: "across" }, el("summary", {}, "Direction, drawing"), el("div", { class: "row" }, more_of_it.map((f) => el("label", { for: "a-" + f.name }, f.label, f.input))))), added);
  show((record.part || {}).name || file, part_tabs(file, "original"),
    el("div", { class: "bench" }, el("div", {}, el("h2", {}, "Drawn as"), answer, in_full),
      el("div", {}, next, el("form", { class: "writes", onsubmit: ask_original }, el("div", { class: "row" }, fields.material.node, fields.on_metal.node),
        el("button", { class: "first" }, record.original ? "Ask again" : "Ask what it was drawn as"), more), adding)));
  draw();
}
