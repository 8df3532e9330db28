"use strict";
// The parts of the folder, and one of them.
// A record that a command writes appears by itself.
let parts_clock = 0;
async function parts_view(known) {
  const all = known || await ask("/api/parts");
  const before = JSON.stringify(all);
  clearInterval(parts_clock);
  const mine = parts_clock = setInterval(async () => {
    if (!["", "#", "#/"].includes(location.hash)) return clearInterval(mine);
    if (document.hidden) return;
    const now = await ask("/api/parts").catch(() => null);
    if (now && mine === parts_clock && JSON.stringify(now) !== before && ["", "#", "#/"].includes(location.hash)) parts_view(now);
  }, 3000);
  const ticks = all.parts.map((p) => el("input", { type: "checkbox", value: p.file, "aria-label": "Together with others: " + (p.name || p.file) }));
  const some = all.parts.length > 1;
  show("Parts of this folder",
    all.read_only ? el("p", { class: "soft" }, "Read only: nothing can be changed from here.") : null,
    all.parts.length ? el("ul", { class: "list parts" }, all.parts.map((p, i) => el("li", { class: p.picture ? undefined : "bare" },
      p.picture ? el("img", { class: "thumb", src: "/api/picture?file=" + q(p.picture), alt: "", loading: "lazy", decoding: "async" }) : null,
      el("span", { class: "named" }, el("a", { href: "#/part/" + q(p.file) }, p.name || p.file), some ? ticks[i] : ""),
      el("p", {}, inch_first() ? p.sentence_in : p.sentence),
      el("p", { class: "soft" }, p.file + (p.time ? ", measured " + p.time.replace("T", " ").replace("Z", " UTC") : "")))))
      : el("p", {}, "No part record yet. Take a photograph or type readings: what they give can be kept as a part."),
    some ? el("div", { class: "row" }, el("button", { type: "button", onclick: tried(() => {
      const files = ticks.filter((t) => t.checked).map((t) => t.value);
      if (files.length < 2) throw new Error("Tick the parts that are meant, two or more.");
      location.hash = "#/set/" + files.map(q).join("/");
    }) }, "The ticked ones together")) : null,
    el("div", { class: "row writes" }, el("a", { class: "button", href: "#/photo" }, "Take a photograph"),
      el("a", { class: "button", href: "#/readings" }, "Type readings")),
    el("p", {}, el("a", { href: "#/tables" }, "Tables of tools, steps and sizes"), el("br"), el("a", { href: "#/devices" }, "Devices that are let in")));
}

// ---- who is let in
async function devices_view() {
  const { devices, next } = await ask("/api/devices");
  show("Devices that are let in",
    el("ul", { class: "list" }, devices.map((d) => el("li", {}, el("strong", {}, d.this ? "This one" : "Device " + d.number),
      el("p", { class: "soft" }, [(/\(([^)]*)\)/.exec(d.name) || ["", d.name])[1], "since " + d.since.replace("T", " ").replace("Z", " UTC")].filter(Boolean).join(", ")),
      d.this ? "" : el("button", { type: "button", onclick: tried(async () => { await ask("/api/devices", { number: String(d.number) }); await devices_view(); }) }, "Dismiss device " + d.number)))),
    el("h2", {}, "Let another one in"), el("p", {}, "Open this address on it; it is good for one device:"), el("p", {}, el("code", {}, next)));
}

// ---- one part
// Another record beside this one: the same part at another time, or the copy beside the old part.
async function compare_box(file) {
  const all = await ask("/api/parts"), others = all.parts.filter((p) => p.file !== file);
  if (!others.length) return null;
  const other = el("select", { id: "c-other" }, others.map((p) => el("option", { value: p.file }, p.name || p.file)));
  const tolerance = takes_length(el("input", { id: "c-tolerance", autocomplete: "off", placeholder: "0.02mm" })), turn = el("input", { id: "c-turn", autocomplete: "off", placeholder: "auto" });
  const against = el("select", { id: "c-against" }, Object.entries({ auto: "the nearer of both", plan: "the limits of the plan", other: "the part itself" }).map(([k, words]) => el("option", { value: k }, words)));
  const answer = el("div", { role: "status" });
  return el("details", {}, el("summary", {}, "Compare with another part"), el("form", { class: "row", onsubmit: tried(async () => {
    const found = await work("Comparing", "/api/compare?part=" + q(file) + "&other=" + q(other.value) + "&tolerance=" + q(tolerance.value.trim()) + "&turn=" + q(turn.value.trim()) + "&against=" + against.value + "&unit=" + unit_first());
    answer.replaceChildren(el("pre", { tabindex: "0" }, found.text));
  }) }, el("label", { for: "c-other" }, "Other part", other), el("label", { for: "c-tolerance" }, "Difference that is allowed", tolerance),
    el("label", { for: "c-turn" }, "It lay turned by, degrees (auto: found)", turn), el("label", { for: "c-against" }, "Held against", against), el("button", {}, "Compare")), answer);
}
function part_tabs(file, here) {
  const tab = (place, words) => el("a", { href: "#/" + place + "/" + q(file), "aria-current": here === place ? "page" : undefined }, words);
  return el("nav", { class: "tabs", "aria-label": "This part" }, tab("part", "Measured"), tab("original", "Drawn as"), tab("plan", "Make"),
    el("a", { href: "#/page/" + q(file), target: "_blank", rel: "noopener" }, "Page to print"));
}
// The page to print is drawn up first, then it stands in this view's place.
async function page_view(file) {
  const address = "/api/report?file=" + q(file) + "&unit=" + unit_first();
  show("Page to print", el("p", {}, "Of ", el("a", { href: "#/part/" + q(file) }, file), "."), el("p", { class: "soft" }, "It is being drawn up."));
  const { page } = await work("Drawing up the page", "/api/report", { part: file, unit: unit_first() });
  location.replace(address + "&drawn=" + page);
}
async function part_view(file) {
  const record = await ask("/api/part?file=" + q(file)), features = record.features || [];
  const pictures = [...new Set(features.filter((f) => (f.source || {}).type === "photo").map((f) => f.source.file.split("/").pop()))];
  const originals = new Map(((record.original || {}).features || []).map((f) => [f.name, f]));
  const drawn = [...originals.values()].map((f) => el("p", {}, el("strong", {}, f.name + ": "), f.undecided ? "cannot tell; likeliest " : "",
    (f.candidates || []).slice(0, 3).map((c) => c.label + " (" + chance(c.probability) + ")").join(", ")));
  show((record.part || {}).name || file, part_tabs(file, "part"), feature_table(features),
    drawn.length ? [el("h2", {}, "Drawn as"), ...drawn] :  el("p", { class: "writes" }, el("a", { class: "button", href: "#/original/" + q(file) }, "Ask what it was drawn as")),
    record.profile ? [el("h2", {}, "Profile"), el("div", { class: "pair" }, profile_figure(record.profile), profile_table(record.profile))] : null,
    features.some((f) => (f.profile || []).length > 2) ? el("h2", {}, "Shape") : null,
    el("div", { class: "charts" }, features.map((f) => {
      const chart = roundness(f);
      return chart && el("section", {}, el("h3", {}, f.name), chart);
    })),
    await compare_box(file),
    el("p", {}, el("a", { class: "file", href: "/api/part?file=" + q(file), download: file }, "Take the record away")),
    pictures.length ? el("p", {}, "From ", pictures.map((p) => el("a", { href: "#/photo/" + q(p) }, p))) : null);
}
