"use strict";
// Readings typed by hand: the file as it stands, what it gives, and what the last one did.
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

