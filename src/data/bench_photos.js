"use strict";
// Several photographs as one piece of work: how they were taken is said once, one after the other is measured, each can
// be looked at, and all are kept together.
async function photos_view(names) {
  const all = await ask("/api/parts"), taking = new Taking(all);
  const entries = names.map((name) => ({ name, state: "waiting", features: [], node: el("li", {}) }));
  const here = location.hash, result = el("p", { class: "answer", role: "status" }, "Not measured yet.");
  const keep = el("button", { type: "button", class: "first", disabled: true, onclick: tried(() => run("Keeping", (e) => e.state === "measured", keep_one)) }, "Keep all in their records");
  let at_it = false;

  function draw(entry) {
    const words = { waiting: "waits", measuring: "is measured now", measured: "", kept: "kept in " + record_name(entry.name) }[entry.state];
    entry.node.replaceChildren(el("img", { class: "thumb", src: "/api/picture?file=" + q(entry.name), alt: "", loading: "lazy", decoding: "async" }),
      el("a", { href: "#/photo/" + q(entry.name) }, entry.name),
      entry.features.length ? el("ul", {}, entry.features.map((f) => el("li", {}, el("strong", {}, f.name || f.kind), " ", size_of(f)[0], f.verdict ? ", " + f.verdict : ""))) : "",
      words === undefined ? el("p", { class: "wrong" }, entry.state) : words ? el("p", { class: "soft" }, words) : "");
  }
  const fields_of = (entry) => ({ picture: entry.name, ...taking.asked() });
  async function measure_one(entry, words, series) {
    const answer = await work(words, "/api/measure", fields_of(entry), series);
    entry.features = answer.record.features || [];
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
      catch (error) { entry.state = series.stopped ? before : error.message; }
      series.done += 1;
      draw(entry);
    }
    entries.forEach(draw);
    at_it = false;
    const count = (state) => entries.filter((e) => e.state === state).length;
    const good = count("measured"), kept = count("kept"), waiting = count("waiting"), bad = entries.length - good - kept - waiting;
    result.textContent = [kept ? kept + " kept" : "", good ? good + " measured" : "", bad ? bad + " not: see beside them" : "", waiting ? waiting + " stopped before" : ""].filter(Boolean).join(", ") + ".";
    keep.disabled = all.read_only || !good;
  }
  const measure = tried(() => run("Measuring", () => true, measure_one));

  show(names.length + " photographs", result, el("div", { class: "row" }, el("button", { type: "button", onclick: measure }, "Measure them"), all.read_only ? null : keep),
    el("ol", { class: "list parts" }, entries.map((e) => { draw(e); return e.node; })),
    el("details", { open: !taking.known }, el("summary", {}, "How they were taken"), taking.rows()));
  if (taking.known) measure();
}
