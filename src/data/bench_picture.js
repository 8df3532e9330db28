"use strict";
// A photograph to look into: wheel, two fingers, or + - 0 and the arrow keys; and the edges on it, each a thing to touch.
const SVG = "http://www.w3.org/2000/svg";
function svg_el(tag, attributes, ...children) {
  const node = document.createElementNS(SVG, tag);
  for (const [name, value] of Object.entries(attributes || {})) {
    if (name.startsWith("on")) node.addEventListener(name.slice(2), value);
    else if (value !== undefined && value !== false) node.setAttribute(name, value);
  }
  node.append(...children);
  return node;
}
const path_of = (points, closed) => points.length ? "M" + points.map((p) => p[0] + " " + p[1]).join("L") + (closed ? "Z" : "") : "";

// on: { select(i), sector(i, from_deg, to_deg) }
function picture_stage(source, words, on) {
  const image = el("img", { src: source, alt: words, draggable: "false" });
  const drawing = svg_el("svg", { "aria-label": "Edges on the photograph", role: "group" });
  const inner = el("div", { class: "inner" }, image, drawing);
  const note = el("p", { class: "note", hidden: true });
  const node = el("div", { class: "stage", tabindex: "0", role: "group",
    "aria-label": words + ". Keys: + and - to zoom, 0 for the whole, arrows to move." }, inner);
  const whole_node = el("div", {}, node, note);
  let width = 0, height = 0, scale = 1, whole = 1, left = 0, top = 0, shown = null, touched = false, looked = false, close_to = null;

  function place() {
    scale = Math.min(Math.max(scale, whole), 8 * Math.max(whole, 0.25));
    left = Math.min(0, Math.max(left, node.clientWidth - width * scale));
    top = Math.min(0, Math.max(top, node.clientHeight - height * scale));
    inner.style.transform = "translate(" + left + "px," + top + "px) scale(" + scale + ")";
    inner.style.setProperty("--px", 1 / scale);
    node.classList.toggle("zoomed", scale > 1.01 * whole);
  }
  function fit() {
    if (!width || !node.clientWidth) return;
    whole = node.clientWidth / width;
    node.style.height = Math.min(height * whole, 0.75 * window.innerHeight) + 2 + "px";
    whole = Math.min(whole, node.clientHeight / height);
    if (!touched) scale = whole, left = top = 0;
    if (!touched && close_to) look_at(close_to);
    else place();
  }
  // Close to what was found, with room for its sizes beside it; again when the window gets another size, until somebody
  // has looked elsewhere.
  function look_at(edges) {
    const xs = edges.flatMap((e) => e.outline_px.map((p) => p[0])), ys = edges.flatMap((e) => e.outline_px.map((p) => p[1]));
    if (!xs.length || touched) return;
    const x0 = Math.min(...xs), x1 = Math.max(...xs), y0 = Math.min(...ys), y1 = Math.max(...ys);
    scale = Math.min((node.clientWidth < 480 ? 0.42 : 0.55) * node.clientWidth / (x1 - x0), 0.8 * node.clientHeight / (y1 - y0));
    left = (width - x1 < x0 ? 0.97 * node.clientWidth - x1 * scale : 0.03 * node.clientWidth - x0 * scale);
    top = node.clientHeight / 2 - (y0 + y1) / 2 * scale;
    close_to = edges;
    place();
  }
  function whole_picture() {
    touched = false, close_to = null;
    fit();
  }
  function zoom(factor, x = node.clientWidth / 2, y = node.clientHeight / 2) {
    const before = scale;
    touched = true;
    scale = Math.min(Math.max(scale * factor, whole), 8 * Math.max(whole, 0.25));
    left = x - (x - left) * scale / before;
    top = y - (y - top) * scale / before;
    close_to = null;
    if (scale <= whole) touched = false;
    place();
  }
  function size_is(w, h) {
    if (width === w && height === h) return;
    width = w, height = h;
    inner.style.width = w + "px", inner.style.height = h + "px";
    drawing.setAttribute("viewBox", "0 0 " + w + " " + h);
    fit();
  }
  image.addEventListener("load", () => { if (!width) size_is(image.naturalWidth, image.naturalHeight); else fit(); });

  const here = (event) => {
    const box = node.getBoundingClientRect();
    return [event.clientX - box.left, event.clientY - box.top];
  };
  node.addEventListener("wheel", (event) => {
    event.preventDefault();
    zoom(Math.exp(-0.0015 * event.deltaY), ...here(event));
  }, { passive: false });
  node.addEventListener("keydown", (event) => {
    const move = { ArrowLeft: [60, 0], ArrowRight: [-60, 0], ArrowUp: [0, 60], ArrowDown: [0, -60] }[event.key];
    if (event.key === "+" || event.key === "=") zoom(1.3);
    else if (event.key === "-") zoom(1 / 1.3);
    else if (event.key === "0") whole_picture();
    else if (move && scale > whole) touched = true, left += move[0], top += move[1], place();
    else return;
    event.preventDefault();
  });

  // Where the pointer is seen from the middle of an edge, degrees counter-clockwise in the part's plane.
  function direction(edge, x, y) {
    const a = edge.feature.pixel_from_part, c = edge.feature.circle.center_mm;
    const px = (x - left) / scale - a[2], py = (y - top) / scale - a[5], det = a[0] * a[4] - a[1] * a[3];
    return Math.atan2((a[0] * py - a[3] * px) / det - c[1], (a[4] * px - a[1] * py) / det - c[0]) * 180 / Math.PI;
  }
  function arc(edge, from, to) {
    const a = edge.feature.pixel_from_part, c = edge.feature.circle, r = c.diameter_mm / 2, points = [];
    for (let d = from; d <= to; d += Math.max(0.5, (to - from) / 90)) {
      const x = c.center_mm[0] + r * Math.cos(d * Math.PI / 180), y = c.center_mm[1] + r * Math.sin(d * Math.PI / 180);
      points.push([a[0] * x + a[1] * y + a[2], a[3] * x + a[4] * y + a[5]]);
    }
    return points;
  }
  const pointers = new Map();
  let drag = null;
  node.addEventListener("pointerdown", (event) => {
    const at = here(event), hit = event.target.closest ? event.target.closest("[data-edge]") : null;
    pointers.set(event.pointerId, at);
    node.setPointerCapture(event.pointerId);
    if (pointers.size > 1) { drag = { kind: "pinch" }; return; }
    const i = hit ? Number(hit.dataset.edge) : -1, edge = i >= 0 && shown ? shown.edges[i] : null;
    const can_turn = edge && edge.feature && edge.feature.pixel_from_part && i === shown.selected;
    drag = { kind: can_turn ? "sector" : "move", i, begun: at, moved: 0, turned: 0 };
    if (can_turn) drag.from = drag.last = direction(edge, ...at);
  });
  node.addEventListener("pointermove", (event) => {
    if (!pointers.has(event.pointerId) || !drag) return;
    const before = pointers.get(event.pointerId), at = here(event);
    if (drag.kind === "pinch" && pointers.size === 2) {
      const other = [...pointers].find(([id]) => id !== event.pointerId)[1];
      const far = (p) => Math.hypot(p[0] - other[0], p[1] - other[1]);
      zoom(far(at) / Math.max(1, far(before)), (at[0] + other[0]) / 2, (at[1] + other[1]) / 2);
    } else if (drag.kind === "sector") {
      const edge = shown.edges[drag.i], now = direction(edge, ...at);
      drag.turned += ((now - drag.last + 540) % 360) - 180;
      drag.last = now;
      const from = Math.min(drag.from, drag.from + drag.turned), to = Math.max(drag.from, drag.from + drag.turned);
      const mark = drawing.querySelector(".drag") || drawing.appendChild(svg_el("path", { class: "drag" }));
      mark.setAttribute("d", path_of(arc(edge, from, Math.min(to, from + 360)), false));
    } else if (drag.kind === "move" && scale > whole) {
      touched = true, left += at[0] - before[0], top += at[1] - before[1];
      place();
    }
    if (drag.begun) drag.moved = Math.max(drag.moved, Math.hypot(at[0] - drag.begun[0], at[1] - drag.begun[1]));
    pointers.set(event.pointerId, at);
  });
  const let_go = (event) => {
    pointers.delete(event.pointerId);
    const done = drag;
    if (pointers.size === 0) drag = null;
    const mark = drawing.querySelector(".drag");
    if (mark) mark.remove();
    if (event.type !== "pointerup" || !done || done.kind === "pinch") return;
    if (done.kind === "sector" && done.moved > 8 && Math.abs(done.turned) > 1) {
      const from = done.turned < 0 ? done.from + done.turned : done.from;
      on.sector(done.i, from, from + Math.min(360, Math.abs(done.turned)));
    } else if (done.moved <= 8 && done.i >= 0) on.select(done.i);
  };
  node.addEventListener("pointerup", let_go);
  node.addEventListener("pointercancel", let_go);
  new ResizeObserver(fit).observe(node);

  // edges: [{ feature, label, outline_px, left_out_px, aside, bare }], `bare` without number and size; also clipped_px, corners_px, width_px, height_px
  function draw(what) {
    shown = what;
    size_is(what.width_px, what.height_px);
    const hatch = svg_el("pattern", { id: "hatch", width: 10, height: 10, patternUnits: "userSpaceOnUse", patternTransform: "rotate(45)" },
      svg_el("rect", { width: 5, height: 10, class: "hatch" }));
    drawing.replaceChildren(svg_el("defs", {}, hatch),
      ...(what.clipped_px || []).map((r) => svg_el("rect", { x: r[0], y: r[1], width: r[2], height: r[3], class: "clipped" })),
      ...(what.corners_px || []).map((c) => svg_el("use", { href: "#corner", x: c[0], y: c[1], class: "corner" })));
    if (what.corners_px) {
      const d = 0.006 * Math.max(what.width_px, what.height_px);
      drawing.firstChild.append(svg_el("path", { id: "corner", d: "M" + -d + " 0H" + d + "M0 " + -d + "V" + d }));
    }
    const all = what.edges.flatMap((e) => e.outline_px), right = Math.max(0, ...all.map((p) => p[0])), first = Math.min(...all.map((p) => p[0])), upper = Math.min(...all.map((p) => p[1]));
    const on_left = what.width_px - right < first;  // the sizes stand where there is more room
    if (what.edges.length && !looked) looked = true, requestAnimationFrame(() => look_at(what.edges));
    what.edges.forEach((edge, i) => {
      const outline = path_of(edge.outline_px, true), at = edge.outline_px[Math.floor((0.1 + 0.19 * i) % 1 * edge.outline_px.length)] || [0, 0];
      const selected = i === what.selected;
      const group = svg_el("g", { "data-edge": i, class: "edge" + (selected ? " selected" : "") + (edge.aside ? " aside" : ""),
        tabindex: "0", role: "button", "aria-pressed": selected ? "true" : "false", "aria-label": edge.label },
        svg_el("path", { class: "hit", d: outline }), svg_el("path", { class: "case", d: outline }), svg_el("path", { class: "line", d: outline }),
        ...edge.left_out_px.map((line) => svg_el("path", { class: "out", d: path_of(line, false) })),
        ...(edge.bare ? [] : [svg_el("circle", { class: "badge", cx: at[0], cy: at[1] }), svg_el("text", { class: "number", x: at[0], y: at[1] }, String(i + 1)),
          svg_el("g", { class: "size" + (on_left ? " left" : ""), transform: "translate(" + (on_left ? first : right) + " " + upper + ")" },
            svg_el("text", { class: "at-" + i }, (i + 1) + " " + edge.name), svg_el("text", { class: "at-" + i + " under" }, edge.size))]));
      group.addEventListener("keydown", (event) => {
        if (event.key !== "Enter" && event.key !== " ") return;
        event.preventDefault();
        on.select(i);
      });
      drawing.append(group);
    });
  }
  function tell(words) { note.textContent = words || ""; note.hidden = !words; }
  return { node: whole_node, draw, tell, zoom, whole_picture, image, focus_edge: (i) => { const g = drawing.querySelector('[data-edge="' + i + '"]'); if (g) g.focus(); } };
}
