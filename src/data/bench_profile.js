"use strict";
// A part on its side: its meridian drawn both sides of the axis, and the surfaces along it with their sizes.
function profile_figure(profile) {
  const points = profile.points || [], length = profile.length_mm;
  if (points.length < 3 || !(length > 0)) return "";
  const radius = Math.max(...points.map((p) => p[1])), scale = Math.min(320 / length, 85 / radius), margin = 20;
  const width = length * scale + 2 * margin, height = 2 * radius * scale + 2 * margin, middle = height / 2;
  const at = (z, r) => (margin + z * scale).toFixed(1) + " " + (middle - r * scale).toFixed(1);
  const line = [...points.map((p) => at(p[0], p[1])), ...points.slice().reverse().map((p) => at(p[0], -p[1]))];
  return el("figure", {}, svg_el("svg", { viewBox: "0 0 " + width.toFixed(0) + " " + height.toFixed(0), role: "img", class: "profile",
    "aria-label": "Profile, " + both_units(length) + " wide, largest diameter " + both_units(2 * radius) },
    svg_el("path", { class: "body", d: "M" + line.join("L") + "Z" }), svg_el("path", { class: "axis", d: "M4 " + middle.toFixed(1) + "H" + (width - 4).toFixed(1) })),
  el("figcaption", {}, "Profile, left face at the left."));
}

function profile_table(profile) {
  const cell = (...words) => el("td", { class: "figure" }, words.map((w) => el("div", {}, w)));
  const marked = (mark, mm, u) => mm === undefined ? [] : figure_of(mm, u).map((w) => mark + w);
  const rows = (profile.segments || []).filter((s) => s.diameter_mm !== undefined || s.radius_mm !== undefined || s.width_mm !== undefined).map((s) => el("tr", {},
    el("th", { scope: "row" }, s.name || s.kind),
    cell(...marked("\u00d8 ", s.diameter_mm, s.u_diameter_mm), ...marked("R ", s.radius_mm, s.u_radius_mm)),
    cell(...marked("", s.width_mm, s.u_width_mm))));
  return el("table", {}, el("thead", {}, el("tr", {}, ["Surface", "Size", "Width"].map((word) => el("th", { scope: "col" }, word)))),
    el("tbody", {}, rows, el("tr", {}, el("th", { scope: "row" }, "whole width"), el("td", {}), cell(...figure_of(profile.length_mm, profile.u_length_mm)))));
}
