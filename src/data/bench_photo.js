"use strict";
// The photograph: measured as soon as it is there; every edge can be touched, named, left out in part, and kept.
// What the program reads; a phone offers its camera for image/*.
const kPictureForms = "image/*,.jpg,.jpeg,.png,.tif,.tiff,.heic,.heif,.avif,.dng,.cr2,.nef,.arw,.orf,.rw2,.raf,.pef";
const record_name = (picture) => picture.replace(/\.[^.]*$/, "") + ".json";
const kEdgeNames = ["outside", "bore", "hub step", "foot", "shadow", "leave out"];
const kAside = ["shadow", "foot", "mark", "leave out"];
const around = (d) => ((d % 360) + 360) % 360;
const in_sector = (d, [from, to]) => around(d - from) <= around(to - from);

function labelled_field(name, label, hint, kept_as = name) {
  const input = el("input", { id: "f-" + name, value: remembered.get(kept_as), placeholder: hint, autocomplete: "off" });
  return { input, label: el("label", { for: "f-" + name }, label, input) };
}

async function send_pictures(files) {
  const names = [];
  for (const one of files) {
    say("Sending " + (files.length > 1 ? names.length + 1 + " of " + files.length + ": " : "") + one.name + " ...");
    const name = one.name.replace(/[^A-Za-z0-9._ -]/g, "_").replace(/^[.-]+/, "") || "photo.jpg";
    const reply = await fetch("/api/picture?name=" + q(name),
      { method: "POST", headers: { "Content-Type": one.type || "image/jpeg" }, body: one });
    const answer = await reply.json().catch(() => ({}));
    if (!reply.ok) throw new Error(one.name + ": " + (answer.error || "refused (" + reply.status + ")"));
    names.push(answer.picture);
  }
  say("");
  return names;
}

async function photo_view(chosen) {
  const all = await ask("/api/parts");
  const file = el("input", { id: "f-file", type: "file", accept: kPictureForms, multiple: true });
  file.addEventListener("change", tried(async () => {
    if (file.files.length) location.hash = address_of(await send_pictures(file.files));
  }));
  const taking = all.read_only ? null :
    el("div", { class: "row" }, el("label", { for: "f-file", class: "take" }, chosen ? "Another photograph" : "Take or choose a photograph, or several", file));
  const others = all.pictures.filter((p) => p !== chosen);
  const list = others.length ? el("details", { open: !chosen }, el("summary", {}, "Photographs of this folder (" + all.pictures.length + ")"),
    chooser(all.pictures, chosen)) : null;
  if (!chosen || !all.pictures.includes(chosen)) {
    show("Photograph", taking, list || el("p", {}, "No photograph in this folder yet. Lay the part beside the printed board, or on a scanner."));
    return;
  }
  new PhotoDesk(chosen, all, taking, list).open();
}

const address_of = (names) => (names.length === 1 ? "#/photo/" : "#/photos/") + names.map(q).join("/");
// The folder's photographs: one is looked at, several are measured as one piece of work.
function chooser(pictures, chosen) {
  const boxes = pictures.map((p) => el("input", { type: "checkbox", value: p, "aria-label": "With " + p }));
  const several = el("button", { type: "button", onclick: tried(() => {
    const names = boxes.filter((b) => b.checked).map((b) => b.value);
    if (!names.length) throw new Error("Tick the photographs that are meant.");
    location.hash = address_of(names);
  }) }, "Measure the ticked ones");
  return [el("ul", { class: "list ticks" }, pictures.map((p, i) => el("li", {}, pictures.length > 1 ? boxes[i] : "",
    el("a", { href: "#/photo/" + q(p), "aria-current": p === chosen ? "page" : undefined }, p)))), pictures.length > 1 ? several : null];
}

class PhotoDesk {
  constructor(picture, all, taking, list) {
    Object.assign(this, { picture, all, taking, list, how_taken: new Taking(all), selected: -1, answer: null, drawn: "", before: {}, running: false, again: false });
    try { this.choices = JSON.parse(remembered.get("edges-" + picture)) || {}; } catch { this.choices = {}; }
    this.stage = picture_stage("/api/picture?file=" + q(picture), "The photograph " + picture, {
      select: (i) => this.select(i), sector: (i, from, to) => this.sector(i, from, to) });
    this.part = labelled_field("part", "Part record", "roller.json");
    if (!this.part.input.value) this.part.input.value = record_name(picture);
  }

  open() {
    const later = () => { clearTimeout(this.clock); this.clock = setTimeout(() => this.is_new() && this.measure(), 500); };
    for (const input of this.how_taken.inputs()) input.addEventListener("change", later);
    this.edges = el("ol", { class: "edges" });
    this.panel = el("section", { class: "panel", "aria-live": "polite" });
    this.side = el("div", { class: "side", "aria-live": "polite" });
    this.warned = el("div", {});
    this.notes = el("div", {});
    this.hint = el("span", { class: "soft" }, "Touch an edge; drag along it to leave a sector out or bring it back.");
    const known = this.how_taken.known;
    this.how = el("details", { open: !known }, el("summary", {}, "How it was taken"), this.how_taken.rows(),
      el("div", { class: "row" }, el("button", { type: "button", onclick: async () => {
        await this.measure();
        if (on_phone() && this.answer && this.answer.record.features.length) this.how.open = false;  // the answer is wanted now
      } }, "Measure")));
    this.keeping = this.all.read_only ? null : el("form", { class: "row", onsubmit: tried(() => this.keep()) },
      this.part.label, el("button", { class: "first" }, "Keep in the record"));
    if (this.keeping) this.keeping.hidden = true;  // until there is something to keep
    show(this.picture, el("div", { class: "bench photo" },
      el("div", {}, this.stage.node, el("div", { class: "row tight" },
        el("button", { type: "button", "aria-label": "Zoom in", onclick: () => this.stage.zoom(1.5) }, "+"),
        el("button", { type: "button", "aria-label": "Zoom out", onclick: () => this.stage.zoom(1 / 1.5) }, "\u2212"),
        el("button", { type: "button", onclick: () => this.stage.whole_picture() }, "Whole"),
        this.hint), this.side, this.warned),
      el("div", {}, this.edges, this.panel, this.keeping, this.how, this.notes)), this.taking, this.list);
    // a form of picture that this browser does not show: the program's own drawing in its place
    this.stage.image.addEventListener("error", () => {
      if (this.drawn) return;
      this.drawn = "yes";
      if (this.answer || this.running) this.measure();
    });
    if (known) this.measure();
    else this.stage.tell("Say how it was taken: the board in the picture, or its scale.");
  }

  asked() {
    const fields = { picture: this.picture, ...this.how_taken.asked() };
    const lines = (each) => Object.entries(this.choices).flatMap(each).join("\n");
    fields.call = lines(([edge, c]) => c.called ? [edge + "=" + c.called] : []);
    const sectors = (which) => lines(([edge, c]) => (c[which] || []).map((s) => edge + "@" + s[0].toFixed(1) + ".." + s[1].toFixed(1)));
    fields.leave_out = sectors("out");
    fields.take_in = sectors("in");
    fields.drawn = this.drawn;
    return fields;
  }

  // A field may say that it was changed when its photograph is measured already, by the button.
  is_new() { return JSON.stringify(this.asked()) !== this.asked_last; }

  async measure() {
    if (this.running) { this.again = true; return; }
    this.running = true;
    this.asked_last = JSON.stringify(this.asked());
    say("");
    this.stage.tell("Measuring ...");
    try {
      const answer = await work("Measuring", "/api/measure", this.asked());
      for (const edge of this.shown_edges()) this.before[edge.found_as] = edge.feature ? edge.feature.circle : undefined;
      this.answer = answer;
      if (answer.overlay) this.stage.image.src = "/api/overlay?id=" + q(answer.overlay);
      this.stage.tell("");
    } catch (error) {
      if (/found no edge/.test(error.message) && Object.keys(this.choices).length) {
        this.choices = {};
        this.again = true;
        say("The edges are others now: what was said of them is forgotten.");
      } else this.failed(error);
    } finally { this.running = false; }
    if (this.again) { this.again = false; return this.measure(); }
    this.draw();
  }

  failed(error) {
    this.answer = { record: { features: [] }, outlines: (error.answer || {}).outlines || null };
    const seen = this.answer.outlines && this.answer.outlines.corners_px;
    this.stage.tell((/found no scale/.test(error.message) ? "Nothing says how large it is: give the side of a square of the board in the picture, or the scale."
      : in_page_words(error.message)) + (seen ? seen.length ? ". The crosses mark the " + seen.length + " places that look like a corner of a board."
      : ". Nothing in the picture looks like a corner of a board." : ""));
    this.how.open = true;
    this.stage.node.scrollIntoView({ block: "end" });  // the button stands far below what it says
  }

  // The edges of the answer, and those that were set aside.
  shown_edges() {
    const { record, outlines } = this.answer || {};
    if (!outlines) return [];
    if (record.profile) return outlines.edges.map((edge) => ({ ...edge, bare: true }));
    const features = record.features || [];
    return [...outlines.edges.map((edge, i) => ({ ...edge, name: features[i] ? features[i].name : edge.name, feature: features[i] })),
      ...(outlines.not_the_part || []).map((edge) => ({ ...edge, name: edge.called, left_out_px: [], aside: true }))];
  }

  draw() {
    const profile = ((this.answer || {}).record || {}).profile;
    const edges = this.shown_edges().map((edge) => ({ ...edge, label: this.label(edge),
      size: edge.feature ? size_of(edge.feature)[0] : "not of the part" }));
    this.hint.hidden = !!profile;
    if (this.selected >= edges.length) this.selected = -1;
    const { outlines } = this.answer || {};
    if (outlines) this.stage.draw({ ...outlines, edges, selected: this.selected });
    this.edges.replaceChildren(...(profile ? [] : edges).map((edge, i) => el("li", {}, el("button", { type: "button", class: "edge-row",
      "aria-pressed": i === this.selected ? "true" : "false", onclick: () => this.select(i) },
      el("strong", {}, edge.name), " ", edge.feature ? size_of(edge.feature)[0] : "not of the part", this.moved(edge)))));
    this.side.replaceChildren(...(profile ? [profile_figure(profile), profile_table(profile)] : []));
    this.draw_panel(profile ? undefined : edges[this.selected]);
    if (this.keeping) this.keeping.hidden = !profile && !edges.some((e) => e.feature);
    const warned = profile ? [{ name: "", feature: profile }] : edges;
    const warnings = new Map(warned.flatMap((e) => ((e.feature || {}).warnings || []).map((w) => [w.text, w.code === "eccentricity" ? e.name + ": " : ""])));
    const quiet = ([text, about]) => about || / by hand$/.test(text), line = (kind) => ([text, about]) => el("p", { class: kind }, about + in_page_words(text));
    this.warned.replaceChildren(...[...warnings].filter((w) => !quiet(w)).map(line("wrong")),
      (outlines && outlines.clipped_px || []).length ? el("p", { class: "wrong" }, "Hatched on the picture: light beyond what the camera could tell.") : "");
    this.notes.replaceChildren(...[...warnings].filter(quiet).map(line("soft")),
      ...(((this.answer || {}).record || {}).not_the_part || []).map((n) => el("p", { class: "soft" }, "Not of the part: " + n.what)),
      (this.answer || {}).csv ? el("p", {}, as_file("Take the edges away as a table", this.picture.replace(/\.[^.]*$/, "") + ".csv", this.answer.csv)) : "",
      every_figure((this.answer || {}).text));
  }

  label(edge) {
    const c = edge.feature && edge.feature.circle;
    return edge.name + (c ? " " + size_of(edge.feature)[0] : "");
  }

  // What the last change did to this size.
  moved(edge) {
    const was = this.before[edge.found_as], is = edge.feature && edge.feature.circle;
    if (!was || !is || Math.abs(was.diameter_mm - is.diameter_mm) < 5e-5) return "";
    const by = is.diameter_mm - was.diameter_mm;
    return el("span", { class: "soft" }, " (" + moved_by(by) + " by the last change)");
  }

  select(i) {
    this.selected = i === this.selected ? -1 : i;
    const in_picture = this.stage.node.contains(document.activeElement);
    this.draw();
    if (in_picture) this.stage.focus_edge(i);
    else { const row = this.edges.children[i]; if (row) row.firstChild.focus(); }
  }

  draw_panel(edge) {
    if (!edge) { this.panel.replaceChildren(); return; }
    const of = this.choices[edge.found_as] || {}, excluded = edge.feature ? edge.feature.excluded || [] : [];
    const names = [...new Set([...kEdgeNames, edge.found_as, edge.name])];
    const what = el("select", { id: "edge-name" }, names.map((n) => el("option", { value: n, selected: n === edge.name }, n)));
    what.addEventListener("change", () => this.choose(edge, { called: what.value === edge.found_as ? "" : what.value }));
    const own = el("input", { id: "edge-own", autocomplete: "off", placeholder: "flange" });
    own.addEventListener("change", () => own.value.trim() && this.choose(edge, { called: own.value.trim() }));
    const from = el("input", { id: "from", inputmode: "decimal", autocomplete: "off", placeholder: "30" }),
      to = el("input", { id: "to", inputmode: "decimal", autocomplete: "off", placeholder: "60" });
    const typed = tried(() => {
      const a = Number(from.value.replace(",", ".")), b = Number(to.value.replace(",", "."));
      if (!from.value || !to.value || !isFinite(a) || !isFinite(b)) throw new Error("Needed two directions in degrees, such as 30 and 60.");
      this.sector(this.selected, a, b > a ? b : b + 360);
    });
    const back = (s) => el("li", {}, Math.round(s.from_deg) + "\u00b0 to " + Math.round(s.to_deg) + "\u00b0, " + s.points + " points, " +
      one_unit(Math.abs(s.height_mm || 0)) + ((s.height_mm || 0) < 0 ? " low " : " high "),
      el("button", { type: "button", onclick: () => this.sector(this.selected, s.from_deg - 1, s.to_deg + 1) }, "Bring back"));
    const gauge = takes_length(el("input", { id: "gauge", autocomplete: "off", placeholder: "3.000mm+-0.001mm" }));
    const is_gauge = tried(() => {
      if (!gauge.value.trim()) throw new Error("Needed the diameter of the gauge piece, such as 3.000mm+-0.001mm.");
      const middle = [0, 1].map((k) => (edge.outline_px.reduce((sum, p) => sum + p[k], 0) / edge.outline_px.length).toFixed(0));
      const known = this.how_taken.fields.reference.input;
      known.value = (known.value.trim() ? known.value.trim() + "; " : "") + gauge.value.trim() + "@" + middle.join(",");
      return this.measure();
    });
    this.panel.replaceChildren(el("h2", {}, (this.selected + 1) + ". " + edge.name),
      edge.feature ? el("p", { class: "answer" }, size_of(edge.feature), el("br"), edge.feature.verdict || "") : "",
      el("div", { class: "row" }, el("label", { for: "edge-name" }, "What it is", what), edge.feature ? el("label", { for: "edge-own" }, "or a name of its own", own) : ""),
      edge.feature ? el("div", { class: "row" }, el("label", { for: "from" }, "Leave out from, degrees", from), el("label", { for: "to" }, "to", to),
        el("button", { type: "button", onclick: typed }, "Leave out")) : "",
      el("details", {}, el("summary", {}, "It is a gauge piece"), el("div", { class: "row" }, el("label", { for: "gauge" }, "Its known diameter", gauge),
        el("button", { type: "button", onclick: is_gauge }, "Measure by it"))),
      excluded.length ? el("div", {}, el("h3", {}, "Left out"), el("ul", {}, excluded.map(back))) : "",
      of.called || (of.out || []).length || (of.in || []).length ? el("button", { type: "button", onclick: () => this.choose(edge, null) }, "As it was found") : "");
  }

  choose(edge, what) {
    if (what) this.choices[edge.found_as] = { ...this.choices[edge.found_as], ...what };
    else delete this.choices[edge.found_as];
    remembered.set("edges-" + this.picture, JSON.stringify(this.choices));
    return this.measure();
  }

  // A sector in which something is left out comes back; another is left out.
  sector(i, from, to) {
    const edge = this.shown_edges()[i];
    if (!edge || !edge.feature) return;
    const of = this.choices[edge.found_as] || {}, middle = (from + to) / 2, one = [around(from), around(from) + Math.min(360, to - from)];
    const overlaps = (s) => in_sector((s[0] + s[1]) / 2, one) || in_sector(middle, s);
    const by_hand = (of.out || []).filter(overlaps);
    const found = (edge.feature.excluded || []).some((s) => overlaps([s.from_deg, s.to_deg < s.from_deg ? s.to_deg + 360 : s.to_deg]));
    if (by_hand.length) this.choose(edge, { out: of.out.filter((s) => !overlaps(s)) });
    else if (found) this.choose(edge, { in: [...(of.in || []), one] });
    else this.choose(edge, { out: [...(of.out || []), one], in: (of.in || []).filter((s) => !overlaps(s)) });
  }

  async keep() {
    const part = this.part.input.value.trim();
    if (!part) throw new Error("Needed a name for the part record.");
    const name = part.endsWith(".json") ? part : part + ".json";
    remembered.set("part", name);
    await work("Measuring", "/api/measure", { ...this.asked(), drawn: "", part: name });
    location.hash = "#/part/" + q(name);
  }
}
