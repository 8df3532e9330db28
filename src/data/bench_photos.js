"use strict";
// Several photographs as one piece of work, how they were taken said once: each a part of its own, measured one after
// the other and kept together; or all of one part at rest, one answer from all.
async function photos_view(names) {
  const all = await ask("/api/parts"), taking = new Taking(all);
  const entries = names.map((name) => ({ name, state: "waiting", features: [], node: el("li", {}) }));
  const here = location.hash, result = el("p", { class: "answer", role: "status" }, "Not measured yet.");
  const keep = el("button", { type: "button", class: "first", disabled: true, onclick: tried(() => together() ? keep_together() : run("Keeping", (e) => e.state === "measured", keep_one)) }, "Keep all in their records");
  const what = el("select", { id: "what" }, el("option", { value: "each" }, "each a part of its own"),
    [["one", "one part at rest, the camera moved"], ["turned", "one part, turned about its axis in between"], ["side", "one part on its side, turned about its axis in between"]].map(([value, words]) =>
      el("option", { value, selected: remembered.get("several") === value }, words)));
  const angles = labelled_field("angles", "Turned by, degrees each (empty: as its marks say)", "0,72,144,216,288");
  const part = labelled_field("together", "Part record", "roller.json"), answer = el("div", {});
  if (!part.input.value) part.input.value = record_name(names[0]);
  const together = () => what.value !== "each" && names.length > 1;
  let at_it = false;

  function draw(entry) {
    const words = { waiting: "waits", measuring: "is measured now", measured: "", kept: "kept in " + record_name(entry.name) }[entry.state];
    const source = entry.overlay ? "/api/overlay?id=" + q(entry.overlay) : "/api/picture?file=" + q(entry.name);
    entry.node.replaceChildren(el("img", { class: entry.overlay ? "thumb found" : "thumb", src: source, alt: "", loading: "lazy", decoding: "async" }),
      el("a", { href: "#/photo/" + q(entry.name) }, entry.name),
      entry.features.length ? el("ul", {}, entry.features.map((f) => el("li", {}, el("strong", {}, f.name || f.kind), " ", size_of(f)[0], f.verdict ? ", " + f.verdict : ""))) : "",
      words === undefined ? el("p", { class: "wrong" }, entry.state) : words ? el("p", { class: "soft" }, words) : "");
  }
  const fields_of = (entry) => ({ picture: entry.name, ...taking.asked() });
  async function measure_one(entry, words, series) {
    const answer = await work(words, "/api/measure", fields_of(entry), series);
    entry.features = answer.record.features || [];
    entry.csv = answer.csv;
    entry.state = "measured";
  }
  async function keep_one(entry, words, series) {
    await work(words, "/api/measure", { ...fields_of(entry), part: record_name(entry.name) }, series);
    entry.state = "kept";
  }
  // One after the other; what goes wrong with one is said beside it and stops no other.
  async function run(verb, which, act) {
    if (at_it) return;
    const chosen = entries.filter(which), before = verb === "Keeping" ? "measured" : "waiting", series = { done: 0, count: chosen.length, begun: performance.now(), stopped: false };
    at_it = true;
    keep.disabled = true;
    for (const entry of chosen) entry.state = before;
    for (const entry of chosen) {
      if (series.stopped || location.hash !== here) break;
      entry.state = "measuring";
      draw(entry);
      try { await act(entry, verb + " " + (series.done + 1) + " of " + chosen.length, series); }
      catch (error) { entry.state = series.stopped ? before : in_page_words(error.message); }
      series.done += 1;
      draw(entry);
    }
    entries.forEach(draw);
    at_it = false;
    const count = (state) => entries.filter((e) => e.state === state).length;
    const good = count("measured"), kept = count("kept"), waiting = count("waiting"), bad = entries.length - good - kept - waiting;
    result.textContent = [kept ? kept + " kept" : "", good ? good + " measured" : "", bad ? bad + " not: see beside them" : "", waiting ? waiting + " stopped before" : ""].filter(Boolean).join(", ") + ".";
    keep.disabled = all.read_only || !good;
    const table = one_table(entries.map((e) => e.csv));
    if (table && verb === "Measuring") answer.replaceChildren(el("p", {}, as_file("Take all edges away as a table", "edges.csv", table)));
  }
  // All of one part: one answer, what each view says by itself, and what was found drawn on each.
  async function run_together(more) {
    if (at_it) return;
    at_it = true;
    keep.disabled = true;
    try {
      const found = await work("Measuring together", "/api/measure", { ...fields_of({ name: names[0] }), others: names.slice(1).join("\n"), several: what.value, ...(what.value === "side" ? { side: "yes" } : {}), angles: what.value === "turned" ? angles.input.value.trim() : "", ...more });
      const features = found.record.features || [], notes = features.flatMap((f) => f.warnings || []);
      for (const e of entries) {
        e.state = "measured";
        e.features = [];
        e.overlay = (found.overlays || {})[e.name];
        draw(e);
      }
      const heights = features.filter((f) => f.height_mm !== undefined).map((f) => f.name + " lies " + one_unit(f.height_mm, 2) + " above the board");
      answer.replaceChildren(found.record.profile ? profile_figure(found.record.profile) : "", feature_table(features), ...heights.map((h) => el("p", {}, h)),
        ...notes.map((n) => el("p", { class: ["view", "eccentricity", "turns-with-part", "stays-with-picture"].includes(n.code) ? "soft" : "wrong" }, in_page_words(n.text))), every_figure(found.text));
      const used = what.value === "one" ? notes.filter((n) => n.code === "view").length + " of " : "";
      result.textContent = "One answer from " + used + names.length + " photographs.";
      keep.disabled = all.read_only;
    } catch (error) {
      answer.replaceChildren();
      result.textContent = "No answer from all together: " + in_page_words(error.message);
    } finally { at_it = false; }
  }
  const measure = tried(() => {
    remembered.set("several", what.value);
    part.label.hidden = !together();
    angles.label.hidden = what.value !== "turned";
    keep.textContent = together() ? "Keep in the record" : "Keep all in their records";
    if (together()) return run_together({});
    answer.replaceChildren();
    for (const e of entries) e.overlay = e.csv = "";
    return run("Measuring", () => true, measure_one);
  });
  async function keep_together() {
    const name = part.input.value.trim();
    if (!name) throw new Error("Needed a name for the part record.");
    const file = name.endsWith(".json") ? name : name + ".json";
    await run_together({ part: file });
    if (!result.textContent.startsWith("No answer")) location.hash = "#/part/" + q(file);
  }
  // What is asked of a part on its side is to be seen then, and what is asked of one from above afterwards.
  what.addEventListener("change", tried(() => {
    const way = taking.way.input;
    if ((what.value === "side") !== (way.value === "side")) way.value = what.value === "side" ? "side" : "board", taking.show_way();
    return measure();
  }));

  show(names.length + " photographs", names.length > 1 ? el("div", { class: "row" }, el("label", { for: "what" }, "They show", what), angles.label) : null, result, answer,
    el("div", { class: "row" }, el("button", { type: "button", onclick: measure }, "Measure them"), all.read_only ? null : part.label, all.read_only ? null : keep),
    el("ol", { class: "list parts" }, entries.map((e) => { draw(e); return e.node; })),
    el("details", { open: !taking.known }, el("summary", {}, "How they were taken"), taking.rows()));
  part.label.hidden = !together();
  angles.label.hidden = what.value !== "turned";
  angles.input.addEventListener("change", measure);
  if (taking.known) measure();
}
