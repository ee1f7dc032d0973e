"use strict";
(() => {
const $ = (id) => document.getElementById(id);
const root = $("viewer"), source = $("viewer-data");
if (!root || !source) return;
const data = JSON.parse(source.textContent);
if (typeof DecompressionStream !== "function") {
  $("viewer-out").hidden = false;
  return;
}
root.hidden = false;
const NONE = 32767, OVER = 32766, UNDER = -32768;
const stage = $("stage"), canvas = $("map"), over = $("over"), bar = $("bar");
const pick = (name) => root.querySelector(`input[name="${name}"]:checked`);

// State: station, quantity, the configuration shown and the one it is set against.
const state = {s: 0, q: 0, shown: 0, against: data.baseline, view: "one", flick: false, wipe: 0.5, at: null};
state.shown = Number(pick("shown").value);
state.s = Number($("station").value);
const within = (v, lo, hi) => Math.min(Math.max(v, lo), hi);

// Rasters are unpacked when they are first asked for.
const kept = new Map();
function raster(kind, s, q, c) {
  const key = `${kind}-${s}-${q}-${c}`;
  if (!kept.has(key)) kept.set(key, unpack(key, data.stations[s]));
  return kept.get(key);
}
async function unpack(id, st) {
  const el = $(id);
  if (!el) return null;
  const text = atob(el.textContent), bytes = new Uint8Array(text.length);
  for (let i = 0; i < text.length; i++) bytes[i] = text.charCodeAt(i);
  const stream = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("deflate-raw"));
  const b = new Uint8Array(await new Response(stream).arrayBuffer());
  const nx = st.x.length, n = nx * st.y.length, out = new Int16Array(n);
  for (let k = 0; k < n; k++) {
    const z = b[k] | b[n + k] << 8, d = z >> 1 ^ -(z & 1), first = k % nx === 0;
    const left = first ? 0 : out[k - 1], below = k < nx ? 0 : out[k - nx], both = first || k < nx ? 0 : out[k - nx - 1];
    out[k] = left + below - both + d;
  }
  return out;
}

// What is painted: a field, or the change from one configuration to another.
const has = (s, q, c) => { const v = data.stations[s].surveys[c]; return !!(v && v.has[q]); };
async function field(s, q, c) { return has(s, q, c) ? raster("r", s, q, c) : null; }
async function change(s, q, a, b) {
  const key = `d-${s}-${q}-${a}-${b}`;
  if (kept.has(key)) return kept.get(key);
  const [f, g] = await Promise.all([field(s, q, a), field(s, q, b)]);
  const v = data.stations[s].surveys[b];
  const doubt = a === data.baseline && v && v.doubt[q] ? await raster("u", s, q, b) : null;
  let out = null;
  if (f && g) {
    out = new Int32Array(f.length);
    for (let k = 0; k < out.length; k++) {
      out[k] = f[k] === NONE || g[k] === NONE ? NONE : g[k] - f[k];
      if (out[k] === NONE && f[k] !== NONE && g[k] !== NONE) out[k]--;
    }
    out.doubt = doubt;
  }
  kept.set(key, out);
  return out;
}

// What is shown of a plane, the same for all configurations and for all stations of one
// kind: at first the part that its kind opens on, at most all that any of them has.
function extent(st) {
  const e = (a) => st.cells ? [a[0] - (a[1] - a[0]) / 2, a[a.length - 1] + (a[a.length - 1] - a[a.length - 2]) / 2] : [a[0], a[a.length - 1]];
  const [x0, x1] = e(st.x), [y0, y1] = e(st.y);
  return {x0, x1, y0: grounded(st, y0, y1), y1};
}
const grounded = (st, y0, y1) => st.ground && y0 > 0 && y0 < y1 / 7 ? 0 : y0;
const own = data.stations.map(extent), kind = () => data.stations[state.s].axes.join();
const whole = {}, opens = {}, crop = {};
data.stations.forEach((st, i) => {
  const k = st.axes.join(), b = own[i], w = whole[k] || b, [x0, x1, y0, y1] = st.open;
  whole[k] = {x0: Math.min(b.x0, w.x0), x1: Math.max(b.x1, w.x1), y0: Math.min(b.y0, w.y0), y1: Math.max(b.y1, w.y1)};
  if (x0 < x1) opens[k] = {x0, x1, y0: grounded(st, y0, y1), y1};
});
const box = () => crop[kind()] || opens[kind()] || whole[kind()];

// crops shows w × h of the plane from (x, y) on, as far as there is something.
function crops(x, y, w, h) {
  const m = whole[kind()], mw = m.x1 - m.x0, mh = m.y1 - m.y0;
  w = Math.min(w, mw); h = Math.min(h, mh);
  x = within(x, m.x0, m.x1 - w); y = within(y, m.y0, m.y1 - h);
  const [x0, x1, y0, y1] = [x, x + w, y, y + h].map((v) => Number(v.toPrecision(5)));
  crop[kind()] = {x0, x1, y0, y1};
  soon();
}
// zoom shows f times as much and leaves the place (x, y) where it is.
function zoom(f, x, y) {
  const b = box(), m = whole[kind()], w = b.x1 - b.x0, h = b.y1 - b.y0;
  f = Math.max(f, (m.x1 - m.x0) / 50 / w);
  crops(x - (x - b.x0) * Math.min(f, (m.x1 - m.x0) / w), y - (y - b.y0) * Math.min(f, (m.y1 - m.y0) / h), w * f, h * f);
}
const zoomMiddle = (f) => { const b = box(); zoom(f, (b.x0 + b.x1) / 2, (b.y0 + b.y1) / 2); };
const pan = (dx, dy) => { const b = box(); crops(b.x0 + dx, b.y0 + dy, b.x1 - b.x0, b.y1 - b.y0); };
function reset(all) { if (all) crop[kind()] = whole[kind()]; else delete crop[kind()]; draw(); }

// Layout in CSS pixels; the overlay's viewBox and the canvas follow it.
let lay = null;
function layout(width) {
  const b = box(), narrow = width < 560;
  const left = narrow ? 40 : 56, right = narrow ? 8 : 14, top = 10, bottom = narrow ? 42 : 50;
  const pw = width - left - right, most = Math.max(240, Math.min(innerHeight * 0.74, 720));
  let ph = pw * (b.y1 - b.y0) / (b.x1 - b.x0), w = pw;
  if (ph > most) { ph = most; w = ph * (b.x1 - b.x0) / (b.y1 - b.y0); }
  const x = left + (pw - w) / 2;
  lay = {width, height: top + ph + bottom, x, y: top, w, h: ph, b, narrow};
}
const px = (v) => lay.x + (v - lay.b.x0) / (lay.b.x1 - lay.b.x0) * lay.w;
const py = (v) => lay.y + (lay.b.y1 - v) / (lay.b.y1 - lay.b.y0) * lay.h;

// Between which lines a pixel lies, how far, and which line is nearest.
function places(lines, n, at, cells) {
  const i0 = new Int32Array(n), t = new Float64Array(n), near = new Int32Array(n), last = lines.length - 1;
  for (let k = 0; k < n; k++) {
    const v = at(k);
    let lo = 0, hi = last;
    while (hi - lo > 1) { const m = (lo + hi) >> 1; if (lines[m] <= v) lo = m; else hi = m; }
    const u = (v - lines[lo]) / (lines[lo + 1] - lines[lo]);
    const reach = cells ? 0.5 + 1e-6 : 1e-6;
    i0[k] = u < -reach || u > 1 + reach ? -1 : lo;
    t[k] = Math.min(Math.max(u, 0), 1);
    near[k] = u < 0.5 ? lo : lo + 1;
  }
  return {i0, t, near};
}
const rgb = (c) => { const n = parseInt(c.slice(1), 16); return 0xff000000 | (n & 255) << 16 | n & 0xff00 | n >> 16; };

const painted = new Map();
function paint(key, f, st, scale, step) {
  const W = canvas.width, H = canvas.height;
  key = `${key}/${W}x${H}/${lay.b.x0},${lay.b.x1},${lay.b.y0},${lay.b.y1}`;
  let c = painted.get(key);
  if (c) return c;
  c = document.createElement("canvas");
  c.width = W; c.height = H;
  const ctx = c.getContext("2d"), img = ctx.createImageData(W, H), to = new Uint32Array(img.data.buffer);
  const b = lay.b, nx = st.x.length;
  const X = places(st.x, W, (i) => b.x0 + (i + 0.5) / W * (b.x1 - b.x0), st.cells);
  const Y = places(st.y, H, (j) => b.y1 - (j + 0.5) / H * (b.y1 - b.y0), st.cells);
  const levels = scale.levels.map((l) => l / step), colors = scale.colors.map(rgb), last = colors.length - 1;
  const under = rgb(scale.under), above = rgb(scale.over), doubt = f.doubt, calm = colors[last >> 1];
  let band = 0;
  for (let j = 0; j < H; j++) {
    const r = Y.i0[j];
    if (r < 0) continue;
    const q = Y.t[j], row = r * nx, nearRow = Y.near[j] * nx;
    for (let i = 0; i < W; i++) {
      const l = X.i0[i];
      if (l < 0) continue;
      const k = row + l, p = X.t[i], f00 = f[k], f10 = f[k + 1], f01 = f[k + nx], f11 = f[k + nx + 1];
      let v;
      if (f00 !== NONE && f10 !== NONE && f01 !== NONE && f11 !== NONE) {
        v = (f00 * (1 - p) + f10 * p) * (1 - q) + (f01 * (1 - p) + f11 * p) * q;
      } else {
        if (!st.cells || f[nearRow + X.near[i]] === NONE) continue;
        let sum = 0, w = 0;
        if (f00 !== NONE) { const a = (1 - p) * (1 - q); sum += a * f00; w += a; }
        if (f10 !== NONE) { const a = p * (1 - q); sum += a * f10; w += a; }
        if (f01 !== NONE) { const a = (1 - p) * q; sum += a * f01; w += a; }
        if (f11 !== NONE) { const a = p * q; sum += a * f11; w += a; }
        v = sum / w;
      }
      if (doubt) {
        const d = doubt[nearRow + X.near[i]];
        if (d !== NONE && Math.abs(v) <= d) { to[j * W + i] = calm; continue; }
      }
      if (v < levels[0]) { to[j * W + i] = under; continue; }
      if (v > levels[last + 1]) { to[j * W + i] = above; continue; }
      while (v < levels[band]) band--;
      while (band < last && v >= levels[band + 1]) band++;
      to[j * W + i] = colors[band];
    }
  }
  ctx.putImageData(img, 0, 0);
  painted.set(key, c);
  if (painted.size > 40) painted.delete(painted.keys().next().value);
  return c;
}

const fix = (v, d) => { const s = v.toFixed(d); return (/^-[0.]*$/.test(s) ? s.slice(1) : s).replace("-", "−"); };
const sign = (v, d) => { const s = fix(v, d); return /^[0.]+$/.test(s) ? "±" + s : s[0] === "−" ? s : "+" + s; };
const NS = "http://www.w3.org/2000/svg";
function el(parent, name, attrs, text) {
  const e = document.createElementNS(NS, name);
  for (const k in attrs) e.setAttribute(k, attrs[k]);
  if (text !== undefined) e.textContent = text;
  parent.append(e);
  return e;
}
function ticks(lo, hi, most) {
  let p = Math.pow(10, Math.floor(Math.log10((hi - lo) / most))), step = p;
  for (const m of [1, 2, 5, 10]) if ((hi - lo) / (m * p) <= most) { step = m * p; break; }
  const out = [], d = Math.max(0, -Math.floor(Math.log10(step) + 1e-9));
  for (let k = Math.ceil(lo / step - 1e-9); k <= Math.floor(hi / step + 1e-9); k++) out.push([k * step, fix(k * step, d)]);
  return out;
}

// The pair in view. Whoever is shown is set against another; against itself there
// is nothing to see, and the next one is taken.
function pair() {
  const n = data.configurations.length;
  let a = state.against;
  if (a === state.shown && n > 1) a = state.shown === data.baseline ? (data.baseline + 1) % n : data.baseline;
  return [a, state.shown];
}

const longest = (() => {
  const all = [];
  for (const st of data.stations) for (const v of st.surveys) if (v && v.vectors) {
    const w = v.vectors.v;
    for (let k = 0; k < w.length; k += 2) if (w[k] !== NONE && w[k + 1] !== NONE) all.push(Math.hypot(w[k], w[k + 1]));
  }
  all.sort((a, b) => a - b);
  return all.length ? all[Math.floor(0.98 * (all.length - 1))] : 0;
})();

// hatch fills what lies within the plane; the samples cover it where there are some.
function hatch(ctx, b, W, H, dpr) {
  const tile = document.createElement("canvas"), c = tile.getContext("2d"), n = tile.width = tile.height = Math.round(9 * dpr);
  c.fillStyle = "#cfcec8"; c.fillRect(0, 0, n, n);
  c.strokeStyle = "#a9a8a2"; c.lineWidth = 1.5 * dpr;
  for (const k of [-n, 0, n]) { c.moveTo(k - 2, n + 2); c.lineTo(k + n + 2, -2); }
  c.stroke();
  const x = (v) => (v - lay.b.x0) / (lay.b.x1 - lay.b.x0) * W, y = (v) => (lay.b.y1 - v) / (lay.b.y1 - lay.b.y0) * H;
  ctx.fillStyle = ctx.createPattern(tile, "repeat");
  ctx.fillRect(x(b.x0), y(b.y1), x(b.x1) - x(b.x0), y(b.y0) - y(b.y1));
}

let frame = 0;
function soon() { if (!frame) frame = requestAnimationFrame(() => { frame = 0; draw(); }); }
let turn = 0, drawn = false, paper = false;
async function draw() {
  const mine = ++turn, {s, q} = state, st = data.stations[s], quantity = data.quantities[q], [a, b] = pair();
  const front = state.view === "one" && state.flick ? a : b;
  const [fa, fb, fd] = await Promise.all([field(s, q, a), field(s, q, b), state.view === "change" ? change(s, q, a, b) : null]);
  if (mine !== turn) return;
  layout(paper ? 720 : stage.clientWidth || 900);
  const dpr = Math.min(devicePixelRatio || 1, 2), W = Math.round(lay.w * dpr), H = Math.round(lay.h * dpr);
  if (canvas.width !== W || canvas.height !== H) { canvas.width = W; canvas.height = H; }
  const pc = (v, of) => (100 * v / of).toFixed(4) + "%";
  stage.style.aspectRatio = `${lay.width} / ${lay.height}`;
  canvas.style.left = pc(lay.x, lay.width); canvas.style.top = pc(lay.y, lay.height); canvas.style.width = pc(lay.w, lay.width); canvas.style.height = pc(lay.h, lay.height);
  const ctx = canvas.getContext("2d");
  ctx.clearRect(0, 0, W, H);
  hatch(ctx, own[s], W, H, dpr);
  const one = (f, c) => f && paint(`${s}/${q}/${c}`, f, st, quantity.scale, quantity.step);
  let missing = "";
  if (state.view === "change") {
    if (fd) ctx.drawImage(paint(`${s}/${q}/${a}-${b}`, fd, st, quantity.change, quantity.step), 0, 0);
    else missing = "no change to show: one of the two has no samples here";
  } else if (state.view === "wipe") {
    const cut = Math.round(state.wipe * W), l = one(fa, a), r = one(fb, b);
    if (l && cut > 0) ctx.drawImage(l, 0, 0, cut, H, 0, 0, cut, H);
    if (r && cut < W) ctx.drawImage(r, cut, 0, W - cut, H, cut, 0, W - cut, H);
    if (!l || !r) missing = `${data.configurations[l ? b : a]} has no samples of this here`;
  } else {
    const c = one(state.flick ? fa : fb, front);
    if (c) ctx.drawImage(c, 0, 0); else missing = `${data.configurations[front]} has no samples of this here`;
  }
  overlay(st, quantity, a, b, front, missing);
  colourBar(state.view === "change" ? quantity.change : quantity.scale, quantity, a, b);
  caption(st, quantity, a, b, front, missing);
  reading();
  if (!drawn) { drawn = true; performance.mark("map drawn"); }
  remember();
  idle();
}

function overlay(st, quantity, a, b, front, missing) {
  over.textContent = "";
  over.setAttribute("viewBox", `0 0 ${lay.width} ${lay.height}`);
  const L = lay, g = el(over, "g", {class: "axes"});
  el(g, "rect", {x: L.x, y: L.y, width: L.w, height: L.h, class: "frame"});
  const labelled = ticks(L.b.x0, L.b.x1, L.narrow ? 6 : 12);
  for (const [v, t] of labelled) { el(g, "line", {x1: px(v), x2: px(v), y1: L.y + L.h, y2: L.y + L.h + 5}); el(g, "text", {x: px(v), y: L.y + L.h + 18, "text-anchor": "middle"}, t); }
  for (const [v, t] of ticks(L.b.y0, L.b.y1, L.narrow ? 4 : 7)) { el(g, "line", {x1: L.x - 5, x2: L.x, y1: py(v), y2: py(v)}); el(g, "text", {x: L.x - 8, y: py(v) + 4, "text-anchor": "end"}, t); }
  el(g, "text", {x: L.x + L.w / 2, y: L.y + L.h + (L.narrow ? 36 : 42), "text-anchor": "middle", class: "label"}, st.labels[0]);
  if (!L.narrow) el(g, "text", {x: 0, y: 0, transform: `translate(${L.x - 42} ${L.y + L.h / 2}) rotate(-90)`, "text-anchor": "middle", class: "label"}, st.labels[1]);
  if (st.ground && L.b.y0 <= 1e-3) el(g, "line", {x1: L.x, x2: L.x + L.w, y1: py(0), y2: py(0), class: "floor"});
  const clip = el(over, "clipPath", {id: "plot"});
  el(clip, "rect", {x: L.x, y: L.y, width: L.w, height: L.h});
  const m = el(over, "g", {"clip-path": "url(#plot)", class: "marks"});
  const line = (o) => {
    let x = 0, y = 0, d = "";
    for (let k = 0; k < o.length; k += 2) { x += o[k]; y += o[k + 1]; d += (k ? "L" : "M") + px(x / 1000).toFixed(1) + " " + py(y / 1000).toFixed(1); }
    return d;
  };
  const twice = (d, cls) => { el(m, "path", {d, class: "halo"}); el(m, "path", {d, class: cls}); };
  const vb = st.surveys[b], va = st.surveys[a], vf = st.surveys[front];
  if ($("vectors").checked && vf && vf.vectors && longest > 0 && state.view !== "change") {
    const {x, y, v} = vf.vectors, pitch = L.w * (x.length > 1 ? x[1] - x[0] : 1) / (L.b.x1 - L.b.x0);
    const every = Math.max(1, Math.ceil(13 / pitch)), scale = 1.7 * every * pitch / longest;
    let d = "";
    for (let j = every >> 1; j < y.length; j += every) for (let i = every >> 1; i < x.length; i += every) {
      const k = 2 * (j * x.length + i);
      if (v[k] === NONE || v[k + 1] === NONE) continue;
      const dx = v[k] * scale, dy = -v[k + 1] * scale, n = Math.hypot(dx, dy);
      if (n < 1.2) continue;
      const x0 = px(x[i]), y0 = py(y[j]), x1 = x0 + dx, y1 = y0 + dy, h = Math.min(4, n / 2.5), ux = dx / n * h, uy = dy / n * h;
      d += `M${x0.toFixed(1)} ${y0.toFixed(1)}L${x1.toFixed(1)} ${y1.toFixed(1)}M${(x1 - ux - uy * .55).toFixed(1)} ${(y1 - uy + ux * .55).toFixed(1)}L${x1.toFixed(1)} ${y1.toFixed(1)}L${(x1 - ux + uy * .55).toFixed(1)} ${(y1 - uy - ux * .55).toFixed(1)}`;
    }
    el(m, "path", {d, class: "arrow-halo"}); el(m, "path", {d, class: "arrow"});
    const unit = longest > 300 ? 0.5 : longest > 120 ? 0.2 : longest > 60 ? 0.1 : 0.05, len = unit * 1000 * scale;
    const kx = L.x + L.w - len - 12, ky = L.y + 16;
    el(m, "rect", {x: kx - 44, y: ky - 12, width: len + 52, height: 22, class: "plate"});
    el(m, "text", {x: kx - 6, y: ky + 4, "text-anchor": "end", class: "on"}, `${unit} U`);
    el(m, "path", {d: `M${kx} ${ky}h${len}m-5 -3l5 3l-5 3`, class: "arrow"});
  }
  if ($("outlines").checked) {
    if (state.view === "one") { if (vf) for (const o of vf.outlines) twice(line(o), "outline"); }
    else if (state.view === "change") {
      if (va) for (const o of va.outlines) twice(line(o), "outline other");
      if (vb) for (const o of vb.outlines) twice(line(o), "outline");
    } else {
      const cut = L.x + state.wipe * L.w;
      for (const [v, x, w, id] of [[va, L.x, cut - L.x, "left"], [vb, cut, L.x + L.w - cut, "right"]]) {
        if (!v) continue;
        el(el(over, "clipPath", {id: `side-${id}`}), "rect", {x, y: L.y, width: Math.max(w, 0), height: L.h});
        const side = el(m, "g", {"clip-path": `url(#side-${id})`});
        for (const o of v.outlines) { const d = line(o); el(side, "path", {d, class: "halo"}); el(side, "path", {d, class: "outline"}); }
      }
    }
    if (state.view === "one" && front === b && va && a !== b) for (const o of va.outlines) el(m, "path", {d: line(o), class: "outline other"});
  }
  const on = (id) => $(id) && $(id).checked;
  if (on("silhouette") && st.silhouette) for (const o of st.silhouette) twice(line(o), "silhouette");
  if (on("spreads")) {
    const ring = (k, cls) => {
      if (!k.spread) return;
      const [u, v, tilt] = k.spread, kx = L.w / (L.b.x1 - L.b.x0);
      const at = {cx: 0, cy: 0, rx: u * kx, ry: v * kx, transform: `translate(${px(k.at[0])} ${py(k.at[1])}) rotate(${-tilt})`};
      el(m, "ellipse", {...at, class: "halo"}); el(m, "ellipse", {...at, class: cls});
    };
    if (va && a !== b && state.view !== "one") for (const k of va.marks) ring(k, "spread other");
    const v = state.view === "one" ? vf : vb;
    if (v) for (const k of v.marks) ring(k, "spread");
  }
  if ($("regions").checked) for (const r of st.boxes) {
    const x = px(r.y[0]), y = py(r.z[1]);
    el(m, "rect", {x, y, width: px(r.y[1]) - x, height: py(r.z[0]) - y, class: "region-halo"});
    el(m, "rect", {x, y, width: px(r.y[1]) - x, height: py(r.z[0]) - y, class: "region"});
    const t = el(m, "text", {x: x + 6, y: y + 14, class: "on small"}, r.name);
    if (L.narrow) t.remove();
  }
  if ($("centroids").checked) {
    const dot = (k, cls) => { el(m, "circle", {cx: px(k.at[0]), cy: py(k.at[1]), r: 5, class: cls}); };
    if (va && a !== b) for (const k of va.marks) dot(k, "spot other");
    if (vb && !(state.view === "one" && state.flick)) {
      if (a === data.baseline && vb.shifts) shifts(m, vb.shifts);
      for (const k of vb.marks) dot(k, "spot");
    }
  }
  const tag = (text, x, end) => {
    const w = Math.min(7.4 * text.length + 18, L.w / 2 - 6), t = el(over, "g", {class: "tag"});
    el(t, "rect", {x: end ? x - w : x, y: L.y + 6, width: w, height: 24});
    const e = el(t, "text", {x: (end ? x - w : x) + 9, y: L.y + 22}, text);
    if (e.getComputedTextLength && e.getComputedTextLength() > w - 14) e.setAttribute("textLength", w - 16);
  };
  const A = data.configurations[a], B = data.configurations[b];
  if (state.view === "change") tag(`${B} − ${A}`, L.x + 6);
  else if (state.view === "wipe") {
    const x = L.x + state.wipe * L.w;
    el(over, "line", {x1: x, x2: x, y1: L.y, y2: L.y + L.h, class: "cut-halo"});
    el(over, "line", {x1: x, x2: x, y1: L.y, y2: L.y + L.h, class: "cut"});
    const k = el(over, "g", {class: "grip", transform: `translate(${x} ${L.y + L.h / 2})`});
    el(k, "circle", {r: 13}); el(k, "path", {d: "M-3 -5l-5 5l5 5M3 -5l5 5l-5 5"});
    tag(A, L.x + 6); tag(B, L.x + L.w - 6 - ($("vectors").checked ? 130 : 0), true);
  } else tag(data.configurations[front], L.x + 6);
  if (missing) el(over, "text", {x: L.x + L.w / 2, y: L.y + L.h / 2, "text-anchor": "middle", class: "missing"}, missing);
  if (state.at) {
    const x = px(st.x[state.at[0]]), y = py(st.y[state.at[1]]);
    if (x >= L.x - 1 && x <= L.x + L.w + 1 && y >= L.y - 1 && y <= L.y + L.h + 1) {
      for (const cls of ["cross-halo", "cross"]) el(over, "path", {d: `M${x - 11} ${y}h8m6 0h8M${x} ${y - 11}v8m0 6v8`, class: cls});
    }
  }
}

// Arrows of the shifts, all drawn longer by one round factor so that they can be
// seen; their texts are the ledger's.
function shifts(m, list) {
  const L = lay, ends = (k, f) => {
    const x0 = px(k.from[0]), y0 = py(k.from[1]);
    return [x0, y0, x0 + f * (px(k.to[0]) - x0), y0 + f * (py(k.to[1]) - y0)];
  };
  const inside = (x, y) => x > L.x + 4 && x < L.x + L.w - 4 && y > L.y + 4 && y < L.y + L.h - 4;
  list = list.filter((k) => inside(px(k.from[0]), py(k.from[1])));
  let factor = 1;
  for (const f of [2, 5, 10, 20]) {
    if (list.some((k) => { const [x0, y0, x1, y1] = ends(k, f); return !inside(x1, y1) || Math.hypot(x1 - x0, y1 - y0) > 90; })) break;
    factor = f;
  }
  for (const k of list) {
    const [x0, y0, x1, y1] = ends(k, factor), n = Math.hypot(x1 - x0, y1 - y0);
    if (n > 2) {
      const h = Math.min(9, n / 2), ux = (x1 - x0) / n * h, uy = (y1 - y0) / n * h;
      const d = `M${x0} ${y0}L${x1} ${y1}M${x1 - ux - uy * .5} ${y1 - uy + ux * .5}L${x1} ${y1}L${x1 - ux + uy * .5} ${y1 - uy - ux * .5}`;
      el(m, "path", {d, class: "shift-halo"}); el(m, "path", {d, class: "shift"});
    }
    if (L.narrow) continue;
    const text = factor > 1 && n > 2 ? `${k.text} (arrow ×${factor})` : k.text, w = 6.7 * text.length;
    el(m, "text", {x: Math.min(Math.max((x0 + x1) / 2, L.x + w / 2 + 4), L.x + L.w - w / 2 - 4), y: Math.min(y0, y1) - 12, "text-anchor": "middle", class: "on small shift-text"}, text);
  }
}

function colourBar(scale, quantity, a, b) {
  bar.textContent = "";
  const w = lay.width, x0 = lay.x + 16, x1 = lay.x + lay.w - 16, n = scale.colors.length;
  bar.setAttribute("viewBox", `0 0 ${w} 52`);
  const lo = scale.levels[0], hi = scale.levels[n], at = (v) => x0 + (v - lo) / (hi - lo) * (x1 - x0);
  el(bar, "path", {d: `M${x0} 4v16l-14 -8z`, fill: scale.under, class: "cell"});
  el(bar, "path", {d: `M${x1} 4v16l14 -8z`, fill: scale.over, class: "cell"});
  for (let k = 0; k < n; k++) el(bar, "rect", {x: at(scale.levels[k]), y: 4, width: at(scale.levels[k + 1]) - at(scale.levels[k]), height: 16, fill: scale.colors[k], class: "cell"});
  // Every text, or every second or third that there is room for, counted from the
  // first level above zero.
  const zero = Math.max(0, scale.levels.findIndex((l) => l > 0));
  for (let stride = 1; stride <= n + 1; stride++) {
    const some = scale.texts.map((t, k) => ({t, x: at(scale.levels[k]), half: 3.7 * t.length + 3, k})).filter(({k}) => (k - zero) % stride === 0);
    if (some.some((e, i) => i > 0 && some[i - 1].x + some[i - 1].half > e.x - e.half)) continue;
    for (const {t, x} of some) el(bar, "text", {x, y: 34, "text-anchor": "middle"}, t);
    break;
  }
  const what = state.view === "change" ? `change of ${quantity.label}` : quantity.label;
  el(bar, "text", {x: (x0 + x1) / 2, y: 49, "text-anchor": "middle", class: "label"}, quantity.unit && quantity.unit !== "1" ? `${what}, ${quantity.unit}` : what);
}

function caption(st, quantity, a, b, front, missing) {
  const A = data.configurations[a], B = data.configurations[b], words = (c) => st.surveys[c] && st.surveys[c].words ? `: ${st.surveys[c].words}` : "";
  let who;
  if (state.view === "change") who = `${B} minus ${A}${words(b)}`;
  else if (state.view === "wipe") who = `${A} left of the cut, ${B} right of it`;
  else who = data.configurations[front] + words(front);
  const text = `${st.name}, ${st.place} · ${quantity.label} · ${who}${missing ? ` · nothing is drawn: ${missing}` : ""}.`;
  if ($("caption").textContent !== text) $("caption").textContent = text;
  $("side").textContent = `${st.from[0].toUpperCase()}${st.from.slice(1)}. ${st.how ? `Samples ${st.how}. ` : ""}` +
    ($("outlines").checked && st.surveys[b] && st.surveys[b].outline && state.view !== "wipe" ? `Full line: ${st.surveys[b].outline}; broken: that of ${A}. ` : "") +
    (a === data.baseline && $("centroids").checked && st.surveys[b] && st.surveys[b].shifts && !(state.view === "one" && state.flick) ? `Centroids against ${A}: ${st.surveys[b].shifts.map((k) => `${k.name} ${k.text}`).join("; ")}. ` : "") +
    (state.view === "change" ? (st.surveys[b] && st.surveys[b].doubt[state.q] && a === data.baseline ? "Changes within their local uncertainty are left without colour." : "No local uncertainty is known for these samples; the pale middle band is the smallest step of the scale, no more.") : "");
  stage.setAttribute("aria-label", `Map. ${text}`);
  $("station-name").textContent = `${st.name}, ${st.place}`;
  $("station").setAttribute("aria-valuetext", `${st.name}, ${st.place}`);
  $("flick").textContent = `Flick to ${A}`;
  $("flick").setAttribute("aria-pressed", state.flick);
  $("wipe-row").hidden = state.view !== "wipe";
  $("flick").disabled = state.view !== "one" || a === b;
  stage.dataset.view = state.view;
  $("vectors").disabled = state.view === "change";
  $("back").disabled = state.s === 0;
  $("on").disabled = state.s === data.stations.length - 1;
  $("open").disabled = !crop[kind()];
  stage.classList.toggle("near", !!crop[kind()]);
}

// The address holds the view. A change is a step back in the browser unless it follows
// another at once, as while zooming or sweeping.
let opened = "", written = "", last = -1e9, led = true;
function words() {
  const st = data.stations[state.s], f = new URLSearchParams(), b = crop[kind()], c = data.configurations;
  for (const [k, v] of [["station", st.name], ["quantity", data.quantities[state.q].label], ["show", c[state.shown]], ["against", c[state.against]], ["view", state.view]]) f.set(k, v);
  if (b) f.set("window", [b.x0, b.x1, b.y0, b.y1].join(" "));
  if (state.view === "wipe") f.set("wipe", state.wipe.toFixed(2));
  return "#" + f;
}
function remember() {
  const w = words(), now = performance.now(), fast = now - last < 800;
  if (paper || w === written) return;
  opened = opened || w;
  written = w;
  if (!led) { history[fast ? "replaceState" : "pushState"](null, "", w); last = now; }
  led = false;
}
function follow(hash) {
  const f = new URLSearchParams(hash.slice(1));
  if (!f.has("view")) return false;
  const find = (list, k, was) => { const i = list.indexOf(f.get(k)); return i < 0 ? was : i; };
  state.s = find(data.stations.map((st) => st.name), "station", state.s);
  state.q = find(data.quantities.map((q) => q.label), "quantity", state.q);
  state.shown = find(data.configurations, "show", state.shown);
  state.against = find(data.configurations, "against", state.against);
  const view = [...root.querySelectorAll('input[name="view"]')].find((e) => e.value === f.get("view"));
  if (view) { view.checked = true; state.view = view.value; }
  const [x0, x1, y0, y1] = (f.get("window") || "").split(" ").map(Number);
  if (x0 < x1 && y0 < y1) crop[kind()] = {x0, x1, y0, y1}; else delete crop[kind()];
  if (f.has("wipe")) state.wipe = within(Number(f.get("wipe")) || 0, 0, 1);
  state.at = null; state.flick = false;
  $("station").value = state.s; $("against").value = state.against; $("wipe").value = Math.round(1000 * state.wipe);
  for (const [name, v] of [["quantity", state.q], ["shown", state.shown]]) root.querySelector(`input[name="${name}"][value="${v}"]`).checked = true;
  led = true;
  return true;
}

async function reading() {
  const out = $("reading");
  if (!state.at) { out.textContent = "Point at the map, or use Shift and the arrow keys, to read a value."; return; }
  const {s, q} = state, st = data.stations[s], quantity = data.quantities[q], [i, j] = state.at, k = j * st.x.length + i, d = quantity.decimals;
  const [a, b] = pair(), [f, g] = await Promise.all([field(s, q, a), field(s, q, b)]);
  if (!state.at || state.s !== s || state.q !== q || state.at[0] !== i || state.at[1] !== j) return;
  const one = (r) => !r || r[k] === NONE ? "no sample" : r[k] === OVER ? "beyond what is kept" : r[k] === UNDER ? "below what is kept" : fix(r[k] * quantity.step, d);
  let t = `${st.axes[0]} ${fix(st.x[i], 3)} m, ${st.axes[1]} ${fix(st.y[j], 3)} m · ${quantity.label}: ${data.configurations[b]} ${one(g)}`;
  if (a !== b) {
    t += `, ${data.configurations[a]} ${one(f)}`;
    const both = f && g && [f[k], g[k]].every((v) => v !== NONE && v !== OVER && v !== UNDER);
    if (both) t += `, change ${sign((g[k] - f[k]) * quantity.step, d)}`;
  }
  out.textContent = t;
}

// Unpack what comes next while nothing else is to be done.
let waiting = 0;
const later = window.requestIdleCallback || ((f) => setTimeout(f, 60));
function idle() {
  if (waiting) return;
  const {s, q} = state, want = [], [a, b] = pair();
  for (const c of [a, b]) {
    for (let k = 0; k < data.quantities.length; k++) want.push([s, k, c]);
    for (const t of [s + 1, s - 1]) if (data.stations[t]) want.push([t, q, c]);
  }
  const next = want.find(([t, k, c]) => has(t, k, c) && !kept.has(`r-${t}-${k}-${c}`));
  if (!next) return;
  waiting = later(async () => { await field(...next); waiting = 0; idle(); });
}

function nearest(lines, v) {
  let lo = 0, hi = lines.length - 1;
  while (hi - lo > 1) { const m = (lo + hi) >> 1; if (lines[m] <= v) lo = m; else hi = m; }
  return v - lines[lo] < lines[hi] - v ? lo : hi;
}
function place(e) {
  const r = stage.getBoundingClientRect(), x = (e.clientX - r.left) * lay.width / r.width, y = (e.clientY - r.top) * lay.height / r.height;
  return {u: (x - lay.x) / lay.w, v: (y - lay.y) / lay.h};
}
function station(k) {
  k = within(k, 0, data.stations.length - 1);
  if (k === state.s) return;
  let p = null;
  if (state.at) { const st = data.stations[state.s]; p = [st.x[state.at[0]], st.y[state.at[1]]]; }
  const same = data.stations[k].axes.join() === data.stations[state.s].axes.join();
  state.s = k;
  $("station").value = k;
  state.at = p && same ? [nearest(data.stations[k].x, p[0]), nearest(data.stations[k].y, p[1])] : null;
  draw();
}
function quantityTo(k) {
  k = within(k, 0, data.quantities.length - 1);
  const e = root.querySelector(`input[name="quantity"][value="${k}"]`);
  e.checked = true;
  state.q = k;
  draw();
}
function flick(on) { if (state.view === "one" && state.flick !== on) { state.flick = on; draw(); } }
function wipe(v) { state.wipe = within(v, 0, 1); $("wipe").value = Math.round(1000 * state.wipe); $("wipe").setAttribute("aria-valuetext", `${Math.round(100 * state.wipe)} %`); draw(); }

$("station").addEventListener("input", (e) => station(Number(e.target.value)));
$("back").addEventListener("click", () => station(state.s - 1));
$("on").addEventListener("click", () => station(state.s + 1));
$("wipe").addEventListener("input", (e) => wipe(Number(e.target.value) / 1000));
$("against").addEventListener("change", (e) => { state.against = Number(e.target.value); draw(); });
root.addEventListener("change", (e) => {
  const t = e.target;
  if (t.name === "quantity") { state.q = Number(t.value); draw(); }
  else if (t.name === "shown") { state.shown = Number(t.value); state.flick = false; draw(); }
  else if (t.name === "view") { state.view = t.value; state.flick = false; draw(); }
  else if (t.type === "checkbox") draw();
});
// A short press of the button changes over and stays; a long one comes back when
// it is let go.
let pressed = 0;
const button = $("flick");
button.addEventListener("pointerdown", (e) => { pressed = e.timeStamp; flick(!state.flick); });
button.addEventListener("pointerup", (e) => { if (pressed && e.timeStamp - pressed > 350) flick(!state.flick); });
button.addEventListener("pointercancel", () => { pressed = 0; flick(false); });
button.addEventListener("click", (e) => { if (e.detail === 0) flick(!state.flick); pressed = 0; });

// A drag near the cut of a wipe moves it, any other the map; two fingers zoom.
let dragging = "";
const fingers = new Map();
stage.addEventListener("pointerdown", (e) => {
  const p = place(e), inside = p.u >= 0 && p.u <= 1 && p.v >= 0 && p.v <= 1;
  fingers.set(e.pointerId, [e.clientX, e.clientY]);
  dragging = !inside ? "" : state.view === "wipe" && Math.abs(p.u - state.wipe) * lay.w < 24 ? "wipe" : "map";
  if (inside) stage.setPointerCapture(e.pointerId);
  pointAt(p);
});
stage.addEventListener("pointermove", (e) => {
  const p = place(e), was = fingers.get(e.pointerId);
  if (was && dragging === "wipe") wipe(p.u);
  else if (was && dragging) {
    const b = box(), [a, c] = [...fingers.values()], perX = (b.x1 - b.x0) / lay.w, perY = (b.y1 - b.y0) / lay.h;
    const before = c && Math.hypot(a[0] - c[0], a[1] - c[1]);
    pan(-(e.clientX - was[0]) * perX / fingers.size, (e.clientY - was[1]) * perY / fingers.size);
    [was[0], was[1]] = [e.clientX, e.clientY];
    if (c) { const q = spot(place({clientX: (a[0] + c[0]) / 2, clientY: (a[1] + c[1]) / 2})); zoom(before / Math.max(Math.hypot(a[0] - c[0], a[1] - c[1]), 1), ...q); }
  }
  pointAt(p);
});
for (const n of ["pointerup", "pointercancel"]) stage.addEventListener(n, (e) => { fingers.delete(e.pointerId); if (!fingers.size) dragging = ""; });
stage.addEventListener("pointerleave", (e) => { if (!dragging && e.pointerType === "mouse") { state.at = null; cross(); } });
stage.addEventListener("dblclick", () => reset());
// The wheel scrolls the page until the map has the focus; the pinch of a touch pad comes
// as a wheel with Ctrl.
stage.addEventListener("wheel", (e) => {
  const p = place(e), b = box(), m = whole[kind()];
  if (!e.ctrlKey && document.activeElement !== stage || !(p.u >= 0 && p.u <= 1 && p.v >= 0 && p.v <= 1)) return;
  if (!e.ctrlKey && e.deltaY > 0 && b.x1 - b.x0 >= m.x1 - m.x0 - 1e-6 && b.y1 - b.y0 >= m.y1 - m.y0 - 1e-6) return;
  e.preventDefault();
  zoom(Math.exp(within(e.deltaY * (e.deltaMode ? 20 : 1), -80, 80) * (e.ctrlKey ? 0.01 : 0.003)), ...spot(p));
}, {passive: false});
const spot = (p) => [lay.b.x0 + p.u * (lay.b.x1 - lay.b.x0), lay.b.y1 - p.v * (lay.b.y1 - lay.b.y0)];
function pointAt(p) {
  if (!lay) return;
  const st = data.stations[state.s];
  $("reading").setAttribute("aria-live", "off");
  if (!(p.u >= 0 && p.u <= 1 && p.v >= 0 && p.v <= 1)) state.at = null;
  else { const [x, y] = spot(p); state.at = [nearest(st.x, x), nearest(st.y, y)]; }
  cross();
}
function cross() {
  for (const e of over.querySelectorAll(".cross,.cross-halo")) e.remove();
  const st = data.stations[state.s];
  if (state.at) {
    const x = px(st.x[state.at[0]]), y = py(st.y[state.at[1]]);
    for (const cls of ["cross-halo", "cross"]) el(over, "path", {d: `M${x - 11} ${y}h8m6 0h8M${x} ${y - 11}v8m0 6v8`, class: cls});
  }
  reading();
}
stage.addEventListener("keydown", (e) => {
  const step = {ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1]}[e.key];
  const move = {a: [-1, 0], d: [1, 0], w: [0, 1], s: [0, -1]}[e.key.toLowerCase()];
  if (e.ctrlKey || e.metaKey || e.altKey) return;
  if (step && e.shiftKey) {
    const st = data.stations[state.s];
    if (!state.at) state.at = [nearest(st.x, (lay.b.x0 + lay.b.x1) / 2), nearest(st.y, (lay.b.y0 + lay.b.y1) / 2)];
    else state.at = [within(state.at[0] + step[0], 0, st.x.length - 1), within(state.at[1] + step[1], 0, st.y.length - 1)];
    $("reading").setAttribute("aria-live", "polite");
    cross();
  } else if (step && step[0]) station(state.s + step[0]);
  else if (step) quantityTo(state.q - step[1]);
  else if (e.key === "f" || e.key === "F" || e.key === " ") { if (!e.repeat) flick(true); }
  else if (move) { const b = box(); pan(move[0] * (b.x1 - b.x0) / 10, move[1] * (b.y1 - b.y0) / 10); }
  else if (e.key === "+" || e.key === "=") zoomMiddle(0.8);
  else if (e.key === "-") zoomMiddle(1.25);
  else if (e.key === "0") reset();
  else if (e.key === "Escape") { state.at = null; cross(); return; }
  else return;
  e.preventDefault();
});
stage.addEventListener("keyup", (e) => { if (e.key === "f" || e.key === "F" || e.key === " ") { flick(false); e.preventDefault(); } });
stage.addEventListener("blur", () => flick(false));

$("in").addEventListener("click", () => zoomMiddle(0.8));
$("out").addEventListener("click", () => zoomMiddle(1.25));
$("open").addEventListener("click", () => reset());
$("all").addEventListener("click", () => reset(true));
$("link").addEventListener("click", async () => {
  const link = location.href.split("#")[0] + words();
  try { await navigator.clipboard.writeText(link); $("done").textContent = "The link to this view is copied."; } catch { $("done").textContent = link; }
});
addEventListener("popstate", () => { if (follow(location.hash || opened)) draw(); });

function download(name, blob) {
  const a = document.createElement("a");
  a.href = URL.createObjectURL(blob);
  a.download = name;
  a.click();
  setTimeout(() => URL.revokeObjectURL(a.href), 1e4);
}
const fileName = (ending) => [data.stations[state.s].name, data.quantities[state.q].label, ...new Set(pair().map((c) => data.configurations[c])), state.view].join("_").replace(/[^\p{L}\p{N}_.-]+/gu, "-") + ending;

// The picture is the map with its marks, scale and caption, drawn as one SVG.
async function picture() {
  const w = lay.width, look = getComputedStyle(document.documentElement), lines = [""];
  for (const t of `${$("caption").textContent} ${$("side").textContent}`.split(" ")) {
    if (lines[lines.length - 1].length + t.length > w / 6.4) lines.push("");
    lines[lines.length - 1] += t + " ";
  }
  const h = lay.height + 64 + 18 * lines.length, vars = ["--ink", "--soft", "--rule", "--paper", "--hair", "--mark"].map((v) => `${v}:${look.getPropertyValue(v)}`).join(";");
  const svg = el(document.createElement("div"), "svg", {xmlns: NS, width: 2 * w, height: 2 * h, viewBox: `0 0 ${w} ${h}`, style: `${vars};font:12.5px system-ui,sans-serif`});
  el(svg, "style", {}, document.querySelector("style").textContent);
  el(svg, "rect", {width: w, height: h, style: "fill:var(--paper)"});
  const map = el(svg, "g", {class: "stage"}), scale = el(svg, "g", {class: "bar", transform: `translate(0 ${lay.height})`});
  el(map, "image", {x: lay.x, y: lay.y, width: lay.w, height: lay.h, href: canvas.toDataURL()});
  for (const [to, from] of [[map, over], [scale, bar]]) for (const e of from.children) to.append(e.cloneNode(true));
  lines.forEach((t, k) => el(svg, "text", {x: 12, y: lay.height + 76 + 18 * k}, t));
  const img = new Image(), c = document.createElement("canvas");
  img.src = "data:image/svg+xml," + encodeURIComponent(new XMLSerializer().serializeToString(svg));
  await img.decode();
  c.width = 2 * w; c.height = 2 * h;
  c.getContext("2d").drawImage(img, 0, 0);
  return new Promise((done) => c.toBlob(done));
}
$("save").addEventListener("click", async () => download(fileName(".png"), await picture()));

let width = 0;
new ResizeObserver(() => { if (stage.clientWidth !== width) { width = stage.clientWidth; draw(); } }).observe(stage);
// On paper the map is laid out for the width of a page, so that its texts keep
// their size.
addEventListener("beforeprint", () => { paper = true; draw(); });
addEventListener("afterprint", () => { paper = false; draw(); });
if (follow(location.hash)) $("maps").scrollIntoView();
wipe(state.wipe);
})();
