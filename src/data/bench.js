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

// What the program answers; an error carries the answer that came with it.
async function ask(path, fields) {
  const options = fields === undefined ? {} :
    { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(fields) };
  let reply;
  try { reply = await fetch(path, options); }
  catch { throw new Error("The program does not answer. Is 'rondure bench' still running?"); }
  const answer = await reply.json().catch(() => ({}));
  if (!reply.ok && answer.answer === undefined)
    throw Object.assign(new Error(answer.error || "refused (" + reply.status + ")"), { status: reply.status, answer });
  const revision = (reply.headers.get("ETag") || "").replace(/"/g, "");
  if (revision && answer.revision === undefined) answer.revision = revision;
  return answer;
}
const on_phone = () => innerWidth < 640;
const q = (name) => encodeURIComponent(name);
// One after the other: what is asked next has to know what the last one changed.
let last_turn = Promise.resolve();
function in_turn(work) {
  const mine = last_turn.then(work);
  last_turn = mine.catch(() => {});
  return mine;
}
function tried(work) {
  return async (event) => {
    if (event) event.preventDefault();
    say("");
    try { await work(event); } catch (error) { say(error.message); }
  };
}


// ---- work that may take a while: how far it is, and a button that ends it
const at_work = document.getElementById("work");
// Without `fields` the path is asked for as it stands. `series`: one of several pieces, { done, count, begun, stopped }: the bar and the time left are those of all.
async function work(words, path, fields, series) {
  const job = [...crypto.getRandomValues(new Uint8Array(8))].map((b) => b.toString(16).padStart(2, "0")).join("");
  const bar = el("progress", { max: 1, "aria-label": words });
  const text = el("span", {}, words + " ...");
  const stop = el("button", { type: "button", onclick: () => { if (series) series.stopped = true; ask("/api/stop", { job }).catch(() => {}); } }, "Stop");
  const begun = performance.now();
  const look = async () => {
    const state = await ask("/api/progress?job=" + job).catch(() => null);
    if (!state) return;
    const done = series ? (series.done + (state.done || 0)) / series.count : state.done;
    const left_s = series ? (performance.now() - series.begun) / 1000 * (1 / done - 1) : state.left_s;
    if (done > 0) bar.value = done;
    text.textContent = words + ": " + (done > 0 ? Math.round(100 * done) + " %, " +
      (left_s > 0 ? "about " + Math.ceil(left_s) + " s left" : "longer than thought") : Math.round(state.passed_s) + " s");
  };
  const clock = setInterval(() => {
    if (performance.now() - (series ? series.begun : begun) < 1000) return;
    if (!bar.isConnected) at_work.replaceChildren(text, bar, stop);
    look();
  }, 500);
  view.setAttribute("aria-busy", "true");
  try { return await (fields ? ask(path, { ...fields, job }) : ask(path + "&job=" + job)); }
  finally { clearInterval(clock); view.removeAttribute("aria-busy"); if (bar.isConnected) at_work.replaceChildren(); }
}

// ---- what this browser remembers
const remembered = {
  get: (name) => { try { return localStorage.getItem("bench-" + name) || ""; } catch { return ""; } },
  set: (name, value) => { try { localStorage.setItem("bench-" + name, value); } catch { /* a private window */ } },
};

// ---- figures, mm and inch side by side; the unit asked for on this page, else in the bench file, stands first
let folder_unit = "mm";
const inch_first = () => ["in", "thou"].includes(remembered.get("lead") || folder_unit);
const unit_first = () => inch_first() ? "in" : "mm";
const in_unit = (mm, unit, places = 3) => (unit === "in" ? (mm / 25.4).toFixed(places + 1) : mm.toFixed(places)) + " " + unit;
const one_unit = (mm, places) => in_unit(mm, unit_first(), places);
const both_units = (mm, places) => one_unit(mm, places) + " (" + in_unit(mm, inch_first() ? "mm" : "in", places) + ")";
// Never quite sure.
const chance = (p) => (p < 0.01 ? "under 1" : p > 0.99 ? "over 99" : Math.round(100 * p)) + " %";
// The larger of two lengths in words, with its sign in front.
const moved_by = (mm) => (mm > 0 ? "+" : "\u2212") + one_unit(Math.abs(mm), 4);
const lead_button = document.getElementById("lead");
function show_lead() {
  lead_button.textContent = unit_first();
  lead_button.setAttribute("aria-label", "First unit: " + (inch_first() ? "inches; change to mm" : "mm; change to inches"));
}
// As many decimals as the program's own texts give: two figures of u down to tenths of a micrometre, then one; four
// where there is no u; an inch has one decimal more.
function decimals_of(u) {
  if (u === undefined) return 4;
  const two = Math.max(0, 1 - Math.floor(Math.log10(u)));
  return two <= 4 ? two : Math.max(4, two - 1);
}
// In the first unit, and in the other.
function figure_of(mm, u_mm) {
  const u = u_mm > 0 ? u_mm : undefined, d = decimals_of(u);
  const words = (factor, places, unit) => (mm / factor).toFixed(places) +
    (u === undefined ? "" : " \u00b1 " + (u / factor).toFixed(places)) + " " + unit;
  const lines = [words(1, d, "mm"), words(25.4, d + 1, "in")];
  return inch_first() ? lines.reverse() : lines;
}
function size_of(feature) {
  const circle = feature.circle || {}, part = feature.kind === "arc" ? 0.5 : 1;  // of an arc its radius
  if (circle.diameter_mm === undefined) return "no size yet";
  const lines = figure_of(part * circle.diameter_mm, part * circle.u_diameter_mm).map((words) => (part < 1 ? "R " : "") + words);
  return [lines[0], el("br"), lines[1]];
}

function feature_table(features) {
  const heads = ["Edge", "Diameter", "Shape"].map((word) => el("th", { scope: "col" }, word));
  return el("table", {}, el("thead", {}, el("tr", {}, heads)),
    el("tbody", {}, features.map((f) => el("tr", {},
      el("th", { scope: "row" }, f.name || f.kind || ""),
      el("td", { class: "figure" }, size_of(f)),
      el("td", {}, f.verdict || (["width", "arc"].includes(f.kind) ? "" : "not judged"))))));
}

// A length typed without its unit gets the one that stands first, before anybody changes that.
function takes_length(input) {
  input.addEventListener("change", () => {
    if (/^\s*\d*[.,]?\d+\s*$/.test(input.value)) input.value = input.value.trim().replace(",", ".") + unit_first();
  });
  return input;
}

// ---- roundness: the deviations drawn round a circle, many times enlarged
// `next_deg`: where the next reading would help most, drawn as an arrow.
function roundness(feature, next_deg) {
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
    "Roundness chart: largest deviation " + both_units(most) + ", " + points.length + " points" });
  svg.append(make("circle", { cx: 190, cy: 190, r: R, class: "ring" }));
  if (points.length > 24)
    svg.append(make("polygon", { class: "outline", points: points.filter((p) => p.used !== false)
      .map((p) => place(p).map((x) => x.toFixed(1)).join(",")).join(" ") }));
  if (points.length <= 120)
    for (const p of points) {
      const [x, y] = place(p);
      svg.append(make("circle", { cx: x.toFixed(1), cy: y.toFixed(1), r: 4, class: p.used === false ? "left-out" : "point" }));
    }
  if (next_deg !== undefined) {
    const t = next_deg * Math.PI / 180, at = (r, turn) => (190 + r * Math.cos(t + turn)).toFixed(1) + "," + (190 - r * Math.sin(t + turn)).toFixed(1);
    svg.append(make("polygon", { class: "next", points: [at(150, 0), at(178, 0.1), at(178, -0.1)].join(" ") }));
  }
  return el("figure", {}, svg, el("figcaption", {}, points.length === 3 ? "Three points lie on a circle, whatever the part is: the shape shows from the fourth on."
    : "Deviation from the circle; the farthest point is " + both_units(most, Math.max(3, Math.min(5, 1 - Math.floor(Math.log10(most))))) + " off."));
}

