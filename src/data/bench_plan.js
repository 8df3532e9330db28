"use strict";
// What to make: shaft, fit, material and tools in; sizes, drawing and a check sheet out, which is filled in at the machine.
const kPlanFields = [
  { name: "shaft", label: "Shaft it runs on", hint: "3.000mm+-0.002mm", length: true },
  { name: "fit", label: "Fit on the shaft", hint: "bore=H7/s6", often: true },
  { name: "material_new", label: "New material", hint: "brass" },
  { name: "width", label: "Width", hint: "8mm", length: true },
  { name: "belt", label: "Belt or film, thickness", hint: "0.13mm", length: true },
  { name: "speed", label: "Speed", hint: "240rpm or 150mm/s" },
  { name: "speed_error", label: "Permitted error of the speed", hint: "0.2%", more: true },
  { name: "interference", label: "Shaft minus bore, instead of a fit", hint: "0.010mm+-0.002mm", often: true, more: true },
  { name: "choose", label: "Sizes to make, other than those drawn", hint: "outside=12.45mm", often: true, more: true },
  { name: "shaft_material", label: "Material of the shaft", hint: "steel", more: true },
  { name: "material_old", label: "Material of the old part", hint: "POM-C", more: true },
  { name: "surface", label: "Surface that belt or film runs on", hint: "outside", more: true },
  { name: "crown", label: "Arc that is its crown", of_record: "crown", more: true },
  { name: "speed_variation", label: "Permitted variation of the speed", hint: "0.1%", more: true },
  { name: "run_out_old", label: "Run-out of the old part on its shaft", hint: "0.02mm", length: true, more: true },
  { name: "frequency", label: "Speed ripple judged at", hint: "12Hz", more: true },
  { name: "belt_stiffness", label: "Stiffness of the belt at the part", hint: "2N/mm", more: true },
  { name: "rest_inertia", label: "Inertia of what turns with it", hint: "500gmm2", more: true },
  { name: "radius", label: "A radius that is wanted", hint: "13mm+-0.05mm", length: true, more: true },
  { name: "arc_width", label: "Width of that arc", hint: "8mm", length: true, more: true },
  { name: "form_tool", label: "Tool that grinds a form tool", choices: { "": "not asked", section: "round along its flank", projection: "true arc in its face" }, more: true },
  { name: "outline", label: "Bare section at 1:1, for another program", choices: { "": "not asked", dxf: "DXF", svg: "SVG" }, more: true },
  { name: "clearance", label: "Clearance of the form tool, degrees", hint: "8", more: true },
  { name: "rake", label: "Top rake of the form tool, degrees", hint: "0", more: true },
];
const kPlanFiles = { tools: "Tools on the shelf", steps: "Steps along the axis", copy: "Copy that has been made, for its speed" };
const kMark = { within: "\u2713 within", outside: "\u2717 outside", "cannot tell": "? cannot tell" };

// A command's advice names its options; here they are fields.
const in_page_words = (text) => text.replace(/choose with --choose '[^']*'/, "choose a size under 'Drawn as'")
  .replace(/--([a-z-]+)( '[^']*')?/g, (_, name) => "'" + name.replace(/-/g, " ") + "'").replaceAll("+-", "\u00b1");

async function plan_view(file) {
  let record = await ask("/api/part?file=" + q(file));
  const all = await ask("/api/parts");
  const note = (name) => "plan-" + file + "-" + name;
  const arcs = (record.features || []).filter((f) => f.kind === "arc").map((f) => f.name), outsides = (record.features || []).filter((f) => f.kind === "outside").map((f) => f.name);
  const widths = (record.features || []).filter((f) => f.kind === "width").map((f) => ({ name: f.name, choices: { "": "as the plan finds it", ...Object.fromEntries(outsides.map((o) => [o, o])) } }));
  const fields = Object.fromEntries([...kPlanFields.map((f) => f.of_record ? { ...f, choices: { "": "the only one that can be", none: "none", ...Object.fromEntries(arcs.map((a) => [a, a])) } } : f),
    ...widths.map((w, i) => ({ name: "width-" + i, width_of: w.name, label: "'" + w.name + "' is the width of", choices: w.choices, more: true }))].map((f) => {
    const kept = remembered.get(note(f.name));
    const input = f.choices ? el("select", { id: "p-" + f.name }, Object.entries(f.choices).map(([k, words]) => el("option", { value: k, selected: k === kept }, words)))
      : el("input", { id: "p-" + f.name, value: kept, placeholder: f.hint, autocomplete: "off" });
    if (f.length) takes_length(input);
    if (/^material_/.test(f.name)) offers_materials(input, f.name === "material_old" ? "aged" : "made");
    return [f.name, { ...f, input, node: el("label", { for: "p-" + f.name }, f.label, input) }];
  }));
  for (const [name, label] of Object.entries(kPlanFiles)) {
    const input = el("select", { id: "p-" + name }, el("option", { value: "" }, "none"),
      (name === "copy" ? all.parts.map((p) => p.file).filter((p) => p !== file) : readings_of(all)).map((r) => el("option", { value: r, selected: r === remembered.get(note(name)) }, r)));
    fields[name] = { input, more: name !== "tools", node: el("label", { for: "p-" + name }, label, input) };
  }
  const answer = el("div", { class: "made" }), care = el("div", {}), sheet = el("div", {});
  let drawing = "", section = "", in_full = "", printed = await ask("/api/limits?part=" + q(file));

  const make = tried(() => in_turn(async () => {
    const given = { part: file, unit: unit_first(), seen: record.revision };
    for (const [name, f] of Object.entries(fields)) {
      const words = f.input.value.trim();
      remembered.set(note(name), words);
      if (f.width_of) continue;
      given[name] = f.often ? by_lines(words) : words;
    }
    given.width_of = Object.values(fields).filter((f) => f.width_of && f.input.value).map((f) => f.width_of + "=" + f.input.value).join("\n");
    const typed = given.choose.split("\n").map((c) => c.split("=")[0]);  // what is typed goes before what was touched
    given.choose = [given.choose, ...((record.original || {}).features || []).map((f) => [f.name, remembered.get("choose-" + file + "-" + f.name)])
      .filter(([name, label]) => label && !typed.includes(name)).map(([name, label]) => name + "=" + label.replace(/ /g, ""))].filter(Boolean).join("\n");
    const planned = await work("Planning", "/api/plan", given);
    drawing = planned.drawing || "";
    section = planned.section || "";
    in_full = planned.text;
    [record, printed] = await Promise.all([ask("/api/part?file=" + q(file)), ask("/api/limits?part=" + q(file))]);
    draw();
    said_fold.open = !on_phone();  // what was said is folded away: the answer is wanted now
    again.textContent = "Plan again";
    await load_sheet();
    if (answer.getBoundingClientRect().top > 0.7 * innerHeight) answer.scrollIntoView();  // it stands below on a phone
  }));

  function sizes_table(plan) {
    const units = inch_first() ? ["in", "mm"] : ["mm", "in"], lines = (words) => units.map((unit) => el("div", {}, words(unit)));
    return el("table", {}, el("thead", {}, el("tr", {}, ["Make", "Size", "Limits"].map((h) => el("th", { scope: "col" }, h)))),
      el("tbody", {}, plan.sizes.map((s) => {
        const shown = printed[s.name] || {};
        return el("tr", {}, el("th", { scope: "row" }, s.name, el("div", { class: "soft" }, s.tolerance || "")),
          el("td", { class: "figure" }, lines((unit) => el("span", { class: "nowrap" }, (shown[unit] || {}).target + " " + unit))),
          el("td", { class: "figure" }, !(shown.mm || {}).lower ? "" : lines((unit) =>
            [el("span", { class: "nowrap" }, shown[unit].lower + " to"), " ", el("span", { class: "nowrap" }, shown[unit].upper + " " + unit)])));
      })));
  }
  function draw() {
    const plan = record.replacement;
    if (!plan) { answer.replaceChildren(el("p", { class: "soft" }, "Not planned yet.")); return; }
    answer.replaceChildren(el("p", {}, "In " + (plan.material_new || "the new material") + (plan.fit ? "; fit " + plan.fit.text : "")),
      sizes_table(plan),
      drawing ? el("figure", {}, el("div", { class: "drawing-box", tabindex: "0", role: "region", "aria-label": "Section; on a narrow screen it is moved sideways" }, el("picture", {},
        el("source", { media: "(max-width: 40rem)", srcset: "/api/drawing?id=" + q(drawing) + "#section" }),
        el("img", { class: "drawing", src: "/api/drawing?id=" + q(drawing), alt: "Dimensioned section of the replacement" }))),
        el("figcaption", {}, el("a", { href: "/api/drawing?id=" + q(drawing), target: "_blank", rel: "noopener" }, "The whole drawing"))) : "",
      section ? el("p", {}, el("a", { class: "file", href: "/api/section?id=" + q(section) + "&as=" + fields.outline.input.value, download: file.replace(/\.json$/, ".") + fields.outline.input.value }, "Take the bare section away")) : "",
      ...(plan.warnings || []).map((w) => el("p", { class: "wrong" }, in_page_words(w.text || w))),
      plan.rotor && plan.rotor.inertia_ratio ? el("p", {}, "Inertia " + plan.rotor.inertia_ratio.toFixed(2) + " times the old part's.") : "",
      every_figure(in_full));
    care.replaceChildren(el("details", { open: true }, el("summary", {}, "Care"), el("ul", {}, (plan.cautions || []).map((c) => el("li", {}, c.text || c)))));
  }

  async function load_sheet() {
    const state = await ask("/api/sheet?part=" + q(file)).catch(() => null);
    sheet.replaceChildren(...(state && state.rows.length ? [el("details", { class: "sheet-box", open: !on_phone() || state.rows.some((r) => r.measured) }, el("summary", {}, "Check sheet, " + state.rows.length + " to measure"),
      el("p", { class: "soft" }, "Kept in " + state.file + " as you type. ", as_file("Take the sheet away", state.file, state.text || "")), sheet_rows(state))] : []));
  }
  const verdict_of = (state, row) => {
    if (!row.measured) return "";
    const compared = ((state.compared || {}).features || []);
    const exact = compared.find((f) => f.name === row.name && f.verdict);
    if (exact) return exact;
    for (const f of compared) {
      const under = (f.checks || []).find((c) => c.name === row.name || f.name + " " + c.kind === row.name);
      if (under && under.verdict) return under;
    }
    return "";
  };
  function sheet_rows(state) {
    const list = el("ol", { class: "sheet" }, state.rows.map((row, i) => {
      const input = el("input", { id: "m-" + i, readonly: all.read_only, inputmode: "decimal", autocomplete: "off", value: row.measured || "" });
      const found = verdict_of(state, row), verdict = found ? found.verdict : "";
      const words = el("p", { class: "verdict " + verdict.replace(/ /g, "-"), role: "status" }, row.measured ? kMark[verdict] || verdict || state.why || "kept" : "",
        found && found.probability_within !== undefined ? " (chance to be within " + (100 * found.probability_within).toFixed(1) + " %)" : "");
      input.addEventListener("change", tried(() => in_turn(async () => {
        const next = await ask("/api/sheet", { part: file, row: row.name, measured: input.value.trim(), u: row.u || "" });
        const at = document.activeElement ? document.activeElement.id : "";
        sheet.querySelector("ol").replaceWith(sheet_rows(next));
        if (at && document.getElementById(at)) document.getElementById(at).focus();
      })));
      const limits = row.lower && row.upper ? row.lower + " to " + row.upper : row.upper ? "up to " + row.upper : row.target;
      return el("li", {}, el("label", { for: "m-" + i }, el("strong", {}, row.name), " " + limits + " " + row.unit, el("br"),
        el("span", {}, row.instrument + (row.when ? "; " + row.when : "")), input), words);
    }));
    return list;
  }

  const chosen = ((record.original || {}).features || []).filter((f) => remembered.get("choose-" + file + "-" + f.name))
    .map((f) => f.name + " " + remembered.get("choose-" + file + "-" + f.name));
  const again = el("button", { class: "first" }, record.replacement ? "Plan again" : "Plan the replacement");
  const said_fold = el("details", { class: "plain", open: !record.replacement || !on_phone() }, el("summary", {}, "Shaft, fit, material, speed, tools"));
  said_fold.append(el("div", { class: "row" }, Object.values(fields).filter((f) => !f.more).map((f) => f.node)),
    el("details", {}, el("summary", {}, "More that may be said"), el("div", { class: "row" }, Object.values(fields).filter((f) => f.more).map((f) => f.node))), el("p", {}, el("a", { href: "#/tables" }, "Write a table of tools or steps")));
  show((record.part || {}).name || file, part_tabs(file, "plan"),
    el("div", { class: "bench plan" },
      el("form", { class: "writes", onsubmit: make }, el("h2", {}, "Make"), chosen.length ? el("p", {}, "Chosen: " + chosen.join(", ") + ".") : "",
said_fold, again), answer, care),
    sheet);
  draw();
  await load_sheet();
}
