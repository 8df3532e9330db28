"use strict";
// How photographs were taken: asked once, remembered; what the bench file says need not be typed.
const kWays = { board: "from above", scan: "on a flatbed scanner", side: "on its side, against light" };
const kAsTheFileSays = "as the file says";
// name, label, hint, in which ways it is asked for; `more`: folded away; `once`: of this picture alone
const kTaking = [
  { name: "board", label: "Board, inner corners", hint: "9x6", ways: ["board", "side"], short: true },
  { name: "square", label: "Side of a square", hint: "5mm", ways: ["board", "side"], length: true, short: true },
  { name: "height", label: "Height of the edge above the board", hint: "6mm+-0.1mm", ways: ["board", "side"], length: true },
  { name: "scale", label: "or scale, seen square-on", hint: "38px/mm+-0.02", ways: ["board", "side"] },
  { name: "scan", label: "Resolution of the scan (empty: as the file says)", hint: "600dpi", ways: ["scan"] },
  { name: "profile", label: "Its surfaces, left to right", hint: "rim,hub", ways: ["side"] },
  { name: "distance", label: "Camera to its axis", hint: "200mm", ways: ["side"], length: true },
  { name: "axis", label: "Axis in the picture, degrees (0: left to right)", hint: "0", ways: ["side"] },
  { name: "reference", label: "Gauge piece: diameter and place in the picture, px", hint: "3.000mm+-0.001mm@812,440", once: true, more: true },
  { name: "near", label: "Only the part at this place, px", hint: "1320,640", ways: ["board", "scan"], once: true, more: true },
  { name: "form", label: "Out of round at most, or none", hint: "0.05mm", ways: ["board", "scan"], length: true, more: true },
  { name: "feature", label: "Name of the largest edge", hint: "rim", ways: ["board", "scan"], once: true, more: true },
  { name: "material", label: "Material of the part", hint: "POM-C", once: true, more: true },
  { name: "temperature", label: "Temperature of the part (with its material)", hint: "23C", ways: ["board", "scan"], more: true },
  { name: "board_uncertainty", label: "Print of the board known to", hint: "0.1%", ways: ["board", "side"], more: true },
];
const kChannels = { "": "brightness", red: "red", green: "green", blue: "blue" };

const taken = (name) => "taken-" + name;  // as this browser remembers it

class Taking {
  constructor(all) {
    const bench = all.bench;
    this.fields = Object.fromEntries(kTaking.map((f) => {
      const made = labelled_field(f.name, f.label, bench[f.name] || f.hint, taken(f.name));
      if (f.length) takes_length(made.input);
      if (f.name === "material") offers_materials(made.input, "aged");
      if (f.short) made.label.classList.add("short");
      return [f.name, { ...f, ...made }];
    }));
    const choice = (name, label, words) => {
      const input = el("select", { id: "f-" + name }, Object.entries(words).map(([k, w]) => el("option", { value: k, selected: k === remembered.get(taken(name)) }, w)));
      return { input, label: el("label", { for: "f-" + name }, label, input) };
    };
    this.way = choice("way", "It was taken", kWays);
    this.channel = choice("channel", "Measured in", kChannels);
    this.kind = choice("kind", "What the largest edge is", { "": "as it was found", ...Object.fromEntries(kKinds.map((k) => [k, k])) });
    this.kind.input.value = "";  // of this picture alone
    const tick = (name) => el("input", { id: "f-" + name, type: "checkbox", checked: remembered.get(taken(name)) === "yes" });
    this.ticks = { linear: tick("linear"), srgb: tick("srgb") };  // --srgb is for a picture at a known scale
    this.calibration = choice("calibration", "Camera or scanner file", { "": bench.camera ? "that of the bench file" : "none", ...Object.fromEntries(all.calibrations.map((c) => [c, c])) });
    this.known = ["board", "square", "scale"].some((n) => this.fields[n].input.value) || this.calibration.input.value || this.way.input.value === "scan" || bench.board || bench.square || bench.camera;
    this.way.input.addEventListener("change", () => this.show_way());
  }
  inputs() { return [...Object.values(this.fields), this.way, this.channel, this.kind, this.calibration].map((f) => f.input).concat(Object.values(this.ticks)); }
  asks(f) { return !f.ways || f.ways.includes(this.way.input.value); }
  show_way() {
    for (const f of Object.values(this.fields)) f.label.hidden = !this.asks(f);
    this.kind.label.hidden = this.way.input.value === "side";
    for (const button of this.steps) button.hidden = !this.asks(this.fields.height);
  }
  rows() {
    const of = (...names) => names.map((n) => this.fields[n].label);
    this.steps = [this.step(-1), this.step(1)];
    const rows = [el("div", { class: "row" }, this.way.label), el("div", { class: "row" }, of("board", "square"), this.calibration.label),
      el("div", { class: "row steps" }, of("height"), this.steps), el("div", { class: "row" }, of("scale", "scan", "profile", "distance", "axis")),
      el("details", {}, el("summary", {}, "More that may be said"), el("div", { class: "row" }, kTaking.filter((f) => f.more).map((f) => this.fields[f.name].label), this.kind.label, this.channel.label),
        el("label", { class: "tick", for: "f-linear" }, this.ticks.linear, "The picture's values are proportional to light"),
        el("label", { class: "tick", for: "f-srgb" }, this.ticks.srgb, "The camera's tone curve is sRGB (at a known scale)"))];
    this.show_way();
    return rows;
  }
  step(sign) {
    const by = () => /in\s*$/.test(this.fields.height.input.value) || (inch_first() && !this.fields.height.input.value) ? 0.02 : 0.5;
    return el("button", { type: "button", "aria-label": "Height " + (sign > 0 ? "up" : "down") + " by a step", onclick: () => this.step_height(sign * by()) },
      (sign > 0 ? "+" : "\u2212") + (inch_first() ? "0.02" : "0.5"));
  }
  step_height(by) {
    const input = this.fields.height.input, found = /^\s*(-?[\d.,]+)(.*)$/.exec(input.value);
    const value = Math.max(0, (found ? Number(found[1].replace(",", ".")) : 0) + by);
    input.value = value.toFixed(Math.abs(by) < 0.1 ? 3 : 1) + (found && found[2] ? found[2] : unit_first());
    input.dispatchEvent(new Event("change"));
  }
  // What the program is asked: what belongs to another way of taking stays here.
  asked() {
    const way = this.way.input.value, fields = { unit: unit_first() };
    for (const f of Object.values(this.fields)) {
      const words = f.input.value.trim();
      if (!f.once) remembered.set(taken(f.name), words);
      if (words && this.asks(f)) fields[f.name] = words;
    }
    for (const [name, f] of Object.entries({ way: this.way, channel: this.channel, calibration: this.calibration })) remembered.set(taken(name), f.input.value);
    for (const [name, input] of Object.entries(this.ticks)) {
      remembered.set(taken(name), input.checked ? "yes" : "");
      if (input.checked) fields[name] = "yes";
    }
    fields.channel = this.channel.input.value;
    if (way !== "side") fields.kind = this.kind.input.value;
    fields.calibration = this.calibration.input.value;
    if (way === "scan") fields.scan = fields.scan || kAsTheFileSays;
    if (way === "side") fields.side = "yes";
    // several gauge pieces stand in one field, a line each for the program
    if (fields.reference) fields.reference = fields.reference.split(";").map((x) => x.trim()).filter(Boolean).join("\n");
    return fields;
  }
}
