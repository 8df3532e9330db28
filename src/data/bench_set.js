"use strict";
// Several parts of the folder looked at together: what they were drawn as, and which of equal ones has worn most.
const kSetFields = [
  { name: "material", label: "Material of them all, when the records do not say", hint: "POM-C" },
  { name: "on_metal", label: "Bores moulded on their metal shaft", hint: "bore; hub", often: true },
  { name: "worn", label: "Surfaces that ran and may be worn", hint: "outside", often: true },
  { name: "tie", label: "Known ratio of two sizes", hint: "a:outside/b:outside=2.00+-0.01", often: true },
  { name: "evidence", label: "What a mating part or catalogue says", hint: "outside=12.30mm+-0.15mm", often: true },
  { name: "shrinkage", label: "Shrinkage, when it is known", hint: "0.3%+-0.2%" },
  { name: "about", label: "The size in question", hint: "outside" },
  { name: "belt", label: "Belt or film, thickness", hint: "0.13mm" },
  { name: "metric_prior", label: "Chance of a metric drawing beforehand, 0 to 1", hint: "0.5" },
  { name: "confidence", label: "Undecided below a chance of", hint: "80%" },
  { name: "learn", label: "Write the sizes this designer used into a new table", hint: "designer.csv", writes: true },
];

async function set_view(files) {
  const all = await ask("/api/parts"), known = all.parts.filter((p) => files.includes(p.file)), note = (name) => "set-" + files.join("-") + "-" + name;
  if (known.length < 2) throw new Error("Needed two parts or more of this folder.");
  const fields = kSetFields.filter((f) => !f.writes || !all.read_only).map((f) => {
    const input = el("input", { id: "s-" + f.name, value: remembered.get(note(f.name)), placeholder: f.hint, autocomplete: "off" });
    if (f.name === "material") offers_materials(input, "aged");
    return { ...f, input, node: el("label", { for: "s-" + f.name }, f.label, input) };
  });
  const grids = el("select", { id: "s-grids" }, el("option", { value: "" }, "built in"), readings_of(all).map((r) => el("option", { value: r }, r)));
  const shape = el("select", { id: "s-shape" }, Object.entries({ "": "not known", uneven: "they shrank unevenly", bent: "they were bent", worn: "they are worn" }).map(([k, words]) => el("option", { value: k }, words)));
  const counts = new Map();
  for (const p of known) for (const f of p.features) counts.set(f.name, (counts.get(f.name) || 0) + 1);
  const shared = [...counts].filter(([, n]) => n > 1).map(([name]) => name), kept = remembered.get(note("same_drawing")).split("\n");
  const same = shared.map((name, i) => ({ name, input: el("input", { id: "s-same-" + i, type: "checkbox", checked: kept.includes(name) }) }));
  // what can wear: an outside before a bore
  const surfaces = ["outside", "bore"].flatMap((kind) => (known[0].features || []).filter((f) => f.kind === kind && counts.get(f.name) === known.length).map((f) => f.name));
  const worn_in = el("select", { id: "s-surface" }, surfaces.map((name) => el("option", { value: name }, name)));
  const batches = el("input", { id: "s-batches", type: "checkbox" });
  const answer = el("div", { "aria-live": "polite" }), parts = files.join("\n");

  const together = tried(async () => {
    const given = { own_batches: batches.checked ? "yes" : "", parts, unit: unit_first(), grids: grids.value, shape: shape.value, same_drawing: same.filter((s) => s.input.checked).map((s) => s.name).join("\n") };
    for (const f of fields) {
      const words = f.input.value.trim();
      if (!f.writes) remembered.set(note(f.name), words);
      given[f.name] = f.often ? by_lines(words) : words;
    }
    remembered.set(note("same_drawing"), given.same_drawing);
    const { set, text, page } = await work("Weighing the sizes of " + files.length + " parts", "/api/set", given);
    answer.replaceChildren(el("h2", {}, "Drawn as, together"), el("div", { class: "pair" }, set.parts.map(one_part)),
      el("p", {}, "Drawn in mm " + chance(set.unit_system.metric) + ", in inches " + chance(set.unit_system.inch) + "."),
      ...(set.warnings || []).map((w) => el("p", { class: "wrong" }, in_page_words(w.text.replace(/ add --same-drawing ([^;]+)/g, " tick '$1' above")))),
      page ? el("p", {}, el("a", { class: "button", href: "/api/pages/" + q(page) + "/set.html", target: "_blank", rel: "noopener" }, "Page to print")) : "",
      el("p", {}, as_file("Take the answer away", "set.json", JSON.stringify(set, null, 1), "application/json")), every_figure(text));
  });
  // Beside the answer of the set that of the part alone.
  function one_part(part) {
    const head = ["Edge", "Measured", "Drawn as"].map((h) => el("th", { scope: "col" }, h));
    return el("section", {}, el("h3", {}, el("a", { href: "#/part/" + q(part.file) }, part.name || part.file)), part.odd > 0.5 ? el("p", { class: "wrong" }, "Probably of another drawing.") : "",
      el("table", {}, el("thead", {}, el("tr", {}, head)), el("tbody", {}, part.original.features.map((f) => {
        const best = (f.candidates || [])[0];
        return el("tr", {}, el("th", { scope: "row" }, f.name), el("td", { class: "figure" }, one_unit(f.measured_mm)),
          el("td", {}, f.undecided ? "cannot tell; likeliest " : "", best ? best.label + ", " + chance(best.probability) : ""));
      }))), part.alone ? el("p", { class: "soft" }, "Alone: " + part.alone.best + ", " + chance(part.alone.probability) + ".") : "");
  }
  const wear = tried(async () => {
    if (!surfaces.length) throw new Error("Needed an outside or a bore that all of them have.");
    const { wear: found, text } = await work("Comparing " + files.length + " parts", "/api/wear", { parts, same_drawing: worn_in.value, unit: unit_first() });
    answer.replaceChildren(el("h2", {}, "Worn most: " + found.feature),
      el("table", {}, el("thead", {}, el("tr", {}, ["Part", "Missing", "Worn most"].map((h) => el("th", { scope: "col" }, h)))), el("tbody", {}, found.parts.map((p) => el("tr", {},
        el("th", { scope: "row" }, p.name), el("td", { class: "figure" }, figure_of(p.missing_mm, p.u_missing_mm).map((w) => el("div", {}, w))), el("td", {}, p.chance_most === undefined ? "" : chance(p.chance_most)))))),
      every_figure(text));
  });
  show(files.length + " parts together", el("ul", { class: "list" }, known.map((p) => el("li", {}, el("a", { href: "#/part/" + q(p.file) }, p.name || p.file), el("p", { class: "soft" }, p.file)))),
    same.length ? el("fieldset", {}, el("legend", {}, "Of one drawing in all of them"), same.map((s) => el("label", { class: "tick", for: s.input.id }, s.input, s.name))) : null,
    el("div", { class: "row" }, el("button", { type: "button", class: "first", onclick: together }, "What they were drawn as"),
      el("button", { type: "button", onclick: wear }, "Which has worn most")), answer,
    el("details", {}, el("summary", {}, "What else is known"), el("label", { class: "tick", for: "s-batches" }, batches, "Each is of a batch or an age of its own"), el("div", { class: "row" }, fields.map((f) => f.node), el("label", { for: "s-grids" }, "Which sizes this designer writes", grids),
      el("label", { for: "s-shape" }, "Why they are oval, when it is known", shape), el("label", { for: "s-surface" }, "Surface whose wear is asked for", worn_in))));
}
