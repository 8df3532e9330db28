"use strict";
// The page at the bench. Every view has an address behind the # (back, bookmark and reload keep the place); what is
// shown comes from the program, which does it with the same commands that can be typed.
const view = document.getElementById("view");
const said = document.getElementById("said");

function el(tag, attributes, ...children) {
  const node = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes || {})) {
    if (name.startsWith("on")) node.addEventListener(name.slice(2), value);
    else if (value === true) node.setAttribute(name, "");
    else if (value !== false && value !== undefined) node.setAttribute(name, value);
  }
  for (const child of children.flat()) if (child !== null && child !== undefined) node.append(child);
  return node;
}
function say(words) { said.textContent = words || ""; }
function show(title, ...children) {
  document.title = title + " - rondure";
  view.replaceChildren(el("h1", {}, title), ...children.flat().filter(Boolean));
}

async function ask(path, fields) {
  const options = fields === undefined ? {} :
    { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(fields) };
  let reply;
  try { reply = await fetch(path, options); }
  catch { throw new Error("The program does not answer. Is 'rondure bench' still running?"); }
  const answer = await reply.json().catch(() => ({}));
  if (!reply.ok && answer.answer === undefined) throw new Error(answer.error || "refused (" + reply.status + ")");
  return answer;
}
const q = (name) => encodeURIComponent(name);
function tried(work) {
  return async (event) => {
    if (event) event.preventDefault();
    say("");
    try { await work(event); } catch (error) { say(error.message); }
  };
}

// ---- figures, mm and inch side by side
const mm = (x) => x.toFixed(3) + " mm";
// As many decimals as the program's own texts give: two figures of u down to tenths of a micrometre, then one; four
// where there is no u; an inch has one decimal more.
function decimals_of(u) {
  if (u === undefined) return 4;
  const two = Math.max(0, 1 - Math.floor(Math.log10(u)));
  return two <= 4 ? two : Math.max(4, two - 1);
}
function size_of(feature) {
  const circle = feature.circle || {};
  if (circle.diameter_mm === undefined) return "no size yet";
  const u = circle.u_diameter_mm > 0 ? circle.u_diameter_mm : undefined, d = decimals_of(u);
  const words = (factor, places, unit) => (circle.diameter_mm / factor).toFixed(places) +
    (u === undefined ? "" : " \u00b1 " + (u / factor).toFixed(places)) + " " + unit;
  return [words(1, d, "mm"), el("br"), words(25.4, d + 1, "in")];
}

function feature_table(features) {
  const heads = ["Edge", "Diameter", "Shape"].map((word) => el("th", { scope: "col" }, word));
  return el("table", {}, el("thead", {}, el("tr", {}, heads)),
    el("tbody", {}, features.map((f) => el("tr", {},
      el("th", { scope: "row" }, f.name || f.kind || ""),
      el("td", { class: "figure" }, size_of(f)),
      el("td", {}, f.verdict || "not judged")))));
}

// ---- roundness: the deviations drawn round a circle, many times enlarged
function roundness(feature) {
  const points = feature.profile || [];
  if (points.length < 3) return null;
  const most = Math.max(...points.map((p) => Math.abs(p.deviation_mm)), 1e-6);
  const R = 110, span = 55, NS = "http://www.w3.org/2000/svg";
  const make = (tag, attributes) => {
    const node = document.createElementNS(NS, tag);
    for (const [k, v] of Object.entries(attributes)) node.setAttribute(k, v);
    return node;
  };
  const place = (p) => {
    const r = R + span * p.deviation_mm / most, t = p.angle_deg * Math.PI / 180;
    return [190 + r * Math.cos(t), 190 - r * Math.sin(t)];
  };
  const svg = make("svg", { viewBox: "0 0 380 380", role: "img", "aria-label":
    "Roundness chart: largest deviation " + mm(most) + ", " + points.length + " points" });
  svg.append(make("circle", { cx: 190, cy: 190, r: R, class: "ring" }));
  if (points.length > 24)
    svg.append(make("polygon", { class: "outline", points: points.filter((p) => p.used !== false)
      .map((p) => place(p).map((x) => x.toFixed(1)).join(",")).join(" ") }));
  if (points.length <= 120)
    for (const p of points) {
      const [x, y] = place(p);
      svg.append(make("circle", { cx: x.toFixed(1), cy: y.toFixed(1), r: 4, class: p.used === false ? "left-out" : "point" }));
    }
  return el("figure", {}, svg, el("figcaption", {}, "Deviation from the circle; the farthest point is " + mm(most) + " off."));
}

// ---- parts
async function parts_view() {
  const all = await ask("/api/parts");
  show("Parts of this folder",
    all.read_only ? el("p", { class: "soft" }, "Read only: nothing can be changed from here.") : null,
    all.parts.length ? el("ul", { class: "list" }, all.parts.map((p) => el("li", {},
      el("a", { href: "#/part/" + q(p.file) }, p.name || p.file),
      el("p", {}, p.sentence),
      el("p", { class: "soft" }, p.file + (p.time ? ", measured " + p.time.replace("T", " ").replace("Z", " UTC") : "")))))
      : el("p", {}, "No part record yet. Take a photograph or type readings: what they give can be kept as a part."),
    el("div", { class: "row" }, el("a", { class: "button", href: "#/photo" }, "Take a photograph"),
      el("a", { class: "button", href: "#/readings" }, "Type readings")));
}

// ---- one part
function table_of_candidates(original) {
  return original.features.map((f) => el("p", {}, el("strong", {}, f.name + ": "),
    f.undecided ? "cannot tell; likeliest " : "",
    (f.candidates || []).slice(0, 3).map((c) => c.label + " (" + Math.round(100 * c.probability) + " %)").join(", ")));
}
async function part_view(file) {
  const record = await ask("/api/part?file=" + q(file));
  const material = el("input", { id: "material", value: (record.part || {}).material || "", autocomplete: "off" });
  const metal = el("input", { id: "metal", autocomplete: "off", placeholder: "bore" });
  const shaft = el("input", { id: "shaft", autocomplete: "off", placeholder: "3.000mm+-0.002mm" });
  const brass = el("input", { id: "new-material", autocomplete: "off", placeholder: "brass" });
  const output = el("div", {});
  const run = (path, fields) => tried(async () => {
    const answer = await ask(path, fields());
    await part_view(file);
    view.append(el("pre", { tabindex: "0" }, answer.text || ""));
  });
  show((record.part || {}).name || file,
    el("div", { class: "row" },
      el("a", { class: "button", href: "/api/report?file=" + q(file), target: "_blank", rel: "noopener" }, "The page to print")),
    el("h2", {}, "Measured"),
    feature_table(record.features || []),
    el("div", { class: "pair" }, (record.features || []).map((f) => {
      const chart = roundness(f);
      return chart && el("section", {}, el("h3", {}, f.name), chart);
    })),
    el("h2", {}, "Drawn as"),
    record.original ? table_of_candidates(record.original) : el("p", { class: "soft" }, "Not asked yet."),
    el("form", { class: "row", onsubmit: run("/api/original", () => ({ part: file, material: material.value, on_metal: metal.value })) },
      el("label", { for: "material" }, "Material of the old part", material),
      el("label", { for: "metal" }, "Features moulded on metal", metal),
      el("button", { class: "first" }, "Ask what it was drawn as")),
    el("h2", {}, "Make"),
    record.replacement ? el("p", {}, "A plan is in the record; the page to print shows it with its drawing and cautions.")
      : el("p", { class: "soft" }, "Not planned yet."),
    el("form", { class: "row", onsubmit: run("/api/plan", () => ({ part: file, shaft: shaft.value, material_new: brass.value })) },
      el("label", { for: "shaft" }, "Shaft it runs on", shaft),
      el("label", { for: "new-material" }, "New material", brass),
      el("button", { class: "first" }, "Plan the replacement")),
    output);
}

// ---- photograph
const remembered = {
  get: (name) => { try { return localStorage.getItem("bench-" + name) || ""; } catch { return ""; } },
  set: (name, value) => { try { localStorage.setItem("bench-" + name, value); } catch { /* a private window */ } },
};
async function photo_view(chosen) {
  const all = await ask("/api/parts");
  const field = (name, label, hint) => {
    const input = el("input", { id: "f-" + name, value: remembered.get(name), placeholder: hint, autocomplete: "off" });
    return { input, label: el("label", { for: "f-" + name }, label, input) };
  };
  const board = field("board", "Board, inner corners", "9x6"), square = field("square", "Square", "5mm");
  const height = field("height", "Height of the edge above the board", "6mm+-0.1mm"), scale = field("scale", "or scale", "38px/mm+-0.02");
  const part = field("part", "Keep in the record", "roller.json");
  const calibration = el("select", { id: "f-calibration" }, el("option", { value: "" }, "none"),
    all.calibrations.map((c) => el("option", { value: c, selected: c === remembered.get("calibration") }, c)));
  const picture = el("select", { id: "f-picture" }, all.pictures.map((p) => el("option", { value: p, selected: p === chosen }, p)));
  const file = el("input", { id: "f-file", type: "file", accept: "image/jpeg,image/png,image/tiff", capture: "environment" });
  const found = el("div", {});
  const send = tried(async () => {
    const one = file.files[0];
    if (!one) throw new Error("Choose or take a photograph first.");
    say("Sending " + one.name + " ...");
    const reply = await fetch("/api/picture?name=" + q(one.name.replace(/[^A-Za-z0-9._ -]/g, "_").replace(/^[.-]+/, "")),
      { method: "POST", headers: { "Content-Type": one.type || "image/jpeg" }, body: one });
    const answer = await reply.json().catch(() => ({}));
    if (!reply.ok) throw new Error(answer.error || "refused (" + reply.status + ")");
    say("");
    location.hash = "#/photo/" + q(answer.picture);
  });
  const measure = tried(async (event) => {
    const button = event.submitter || view.querySelector("button.first");
    const fields = { picture: picture.value, calibration: calibration.value };
    for (const [name, f] of Object.entries({ board, square, height, scale, part })) {
      fields[name] = f.input.value.trim();
      remembered.set(name, fields[name]);
    }
    remembered.set("calibration", calibration.value);
    button.disabled = true;
    say("Measuring ...");
    try {
      const answer = await ask("/api/measure", fields);
      say("");
      const warnings = (answer.record.features || []).flatMap((f) => f.warnings || []);
      found.replaceChildren(el("h2", {}, "Found"), feature_table(answer.record.features || []),
        ...[...new Set(warnings.map((w) => w.text))].map((text) => el("p", { class: "wrong" }, text)),
        answer.overlay ? el("figure", {}, el("img", { src: "/api/overlay?id=" + q(answer.overlay), alt: "The photograph with the edges that were found" }),
          el("figcaption", {}, "The line must lie on the edge all round.")) : "",
        fields.part ? el("p", {}, el("a", { class: "button", href: "#/part/" + q(fields.part) }, "To the part")) : "");
    } finally { button.disabled = false; }
  });
  show("Photograph",
    all.read_only ? null : el("form", { class: "row", onsubmit: send }, el("label", { for: "f-file" }, "New photograph", file), el("button", {}, "Send")),
    all.pictures.length ? el("form", { onsubmit: measure },
      el("div", { class: "row" }, el("label", { for: "f-picture" }, "Photograph", picture), el("label", { for: "f-calibration" }, "Camera file", calibration)),
      el("div", { class: "row" }, board.label, square.label, height.label, scale.label, part.label),
      el("button", { class: "first" }, "Measure")) : el("p", {}, "No photograph in this folder yet."),
    found);
  if (chosen && all.pictures.includes(chosen))
    found.append(el("figure", {}, el("img", { src: "/api/picture?file=" + q(chosen), alt: "The photograph " + chosen })));
}

// ---- readings
async function readings_list() {
  const all = await ask("/api/parts");
  const name = el("input", { id: "new-file", placeholder: "roller.csv", autocomplete: "off" });
  show("Readings",
    el("ul", { class: "list" }, all.readings.map((r) => el("li", {}, el("a", { href: "#/readings/" + q(r) }, r)))),
    el("form", { class: "row", onsubmit: tried(async () => {
      const file = name.value.trim();
      if (!file) throw new Error("Needed a name for the file.");
      location.hash = "#/readings/" + q(file.endsWith(".csv") ? file : file + ".csv");
    }) }, el("label", { for: "new-file" }, "New file of readings", name), el("button", { class: "first" }, "Begin")));
}
async function readings_view(file) {
  let state = await ask("/api/readings?file=" + q(file));
  const line = el("input", { id: "line", class: "big", inputmode: "text", autocomplete: "off", placeholder: "x y" });
  const unit = el("select", { id: "unit" }, ["mm", "in", "thou"].map((u) => el("option", { value: u, selected: u === remembered.get("unit") }, u)));
  const answer = el("p", { class: "answer" }, state.text ? "Going on." : "Type x y for each point round the part.");
  const chart = el("div", {}), text = el("pre", { tabindex: "0", "aria-label": "The readings on file" }), doubts = el("div", { class: "row" });
  const part = el("input", { id: "keep-part", value: file.replace(/\.csv$/, ".json"), autocomplete: "off" });
  const feature = el("input", { id: "keep-feature", value: "outside", autocomplete: "off" });
  const asked = /^(\d+)\b.*(yes \/ keep|or keep|else 'keep')/;
  const draw = () => {
    const found = state.record && state.record.features && state.record.features[0];
    chart.replaceChildren(...(found ? [feature_table([found]), roundness(found) || ""] : [el("p", { class: "soft" }, state.why || "")]));
    text.textContent = state.text;
    const in_doubt = asked.exec(state.answer || "");
    const meant = /was (\S+) meant/.exec(state.answer || "");
    doubts.replaceChildren(...(in_doubt ? [
      meant ? el("button", { type: "button", onclick: typed("correct " + in_doubt[1] + " " + meant[1]) }, "It was " + meant[1]) : "",
      el("button", { type: "button", onclick: typed("keep " + in_doubt[1]) }, "It stands as read"),
      el("button", { type: "button", onclick: typed("delete " + in_doubt[1]) }, "Take it out")] : []));
  };
  const send = async (words) => {
    const fields = { file, line: words };
    if (!state.text) fields.unit = unit.value;
    remembered.set("unit", unit.value);
    state = await ask("/api/readings", fields);
    answer.textContent = state.answer;
    draw();
  };
  const typed = (words) => tried(async () => { await send(words); line.focus(); });
  show(file,
    el("form", { class: "row", onsubmit: tried(async () => {
      const words = line.value.trim();
      if (!words) return;
      await send(words);
      line.value = "";
      line.focus();
    }) }, el("label", { for: "line" }, "Next reading (or undo, delete 7, again x y, chord C sagitta H, note ...)", line),
      state.text ? "" : el("label", { for: "unit" }, "Unit", unit), el("button", { class: "first" }, "Keep")),
    answer, doubts,
    el("div", { class: "row" }, el("button", { type: "button", onclick: typed("undo") }, "Undo"),
      el("button", { type: "button", onclick: typed("where") }, "Where next?")),
    el("div", { class: "pair" }, chart, el("section", {}, el("h2", {}, "On file"), text)),
    el("h2", {}, "Keep the answer"),
    el("form", { class: "row", onsubmit: tried(async () => {
      await ask("/api/keep", { file, part: part.value.trim(), feature: feature.value.trim() });
      location.hash = "#/part/" + q(part.value.trim());
    }) }, el("label", { for: "keep-part" }, "Part record", part), el("label", { for: "keep-feature" }, "Name of this edge", feature),
      el("button", { class: "first" }, "Keep in the record")));
  draw();
  line.focus();
}

// ---- addresses
async function route() {
  say("");
  const [, place, name] = location.hash.split("/").map(decodeURIComponent);
  try {
    if (place === "part" && name) await part_view(name);
    else if (place === "photo") await photo_view(name);
    else if (place === "readings" && name) await readings_view(name);
    else if (place === "readings") await readings_list();
    else await parts_view();
  } catch (error) {
    show("That did not work", el("p", { class: "wrong" }, error.message), el("p", {}, el("a", { href: "#/" }, "All parts")));
  }
}
document.getElementById("skip").addEventListener("click", () => view.focus());
window.addEventListener("hashchange", route);
route();
