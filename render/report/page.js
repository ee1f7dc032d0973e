"use strict";
(() => {
const $ = (id) => document.getElementById(id);

// What an address points at is unfolded, and a press on the button unfolds all, as for
// print: what is folded stays off the paper.
const unfold = $("unfold"), folds = [...document.querySelectorAll("details")];
unfold.hidden = false;
unfold.addEventListener("click", () => {
  const open = folds.some((d) => !d.open);
  for (const d of folds) d.open = open;
  unfold.textContent = open ? "Fold all" : "Unfold all";
});
function reveal() {
  const e = $(location.hash.slice(1));
  if (!e) return;
  for (let d = e.querySelector(":scope > .fold") || e; d; d = d.parentElement && d.parentElement.closest("details")) if (d.tagName === "DETAILS") d.open = true;
  e.scrollIntoView();
}
addEventListener("hashchange", reveal);
reveal();

// Tables sort by a press on a heading, at the third in the order of the page again; those
// whose rows stand under others do not.
const amount = (t) => parseFloat(t.replace(/[±+\s]/g, "").replace("−", "-"));
for (const table of document.querySelectorAll("table")) {
  const body = table.tBodies[0], rows = [...body.rows], heads = [...table.tHead.rows[0].cells];
  if (rows.length < 3 || rows.some((r) => r.cells.length !== heads.length || /^\s|^$/.test(r.cells[0].textContent))) continue;
  heads.forEach((th, c) => {
    const button = document.createElement("button");
    button.type = "button"; button.className = "sort";
    button.append(...th.childNodes);
    th.append(button);
    button.addEventListener("click", () => {
      const to = {ascending: "descending", descending: "none"}[th.ariaSort] || "ascending", turn = to === "descending" ? -1 : 1;
      for (const e of heads) e.ariaSort = "none";
      th.ariaSort = to;
      const sorted = rows.map((r) => [r, r.cells[c].textContent]).sort(([, a], [, b]) => {
        const u = amount(a), v = amount(b);
        return u === u && v === v ? turn * (u - v) : u === u ? -1 : v === v ? 1 : turn * a.localeCompare(b);
      });
      body.append(...(to === "none" ? rows : sorted.map(([r]) => r)));
    });
  });
}

const root = $("viewer"), source = $("viewer-data");
if (!root || !source) return;
const data = JSON.parse(source.textContent);
for (const st of data.stations) {
  st.boxes ||= [];
  for (const v of st.surveys) if (v) { v.outlines ||= []; v.marks ||= []; }
}
if (typeof DecompressionStream !== "function") {
  $("viewer-out").hidden = false;
  return;
}
root.hidden = false;
// Paper that is printed before the first map is drawn has the sheet of the first station.
const sheet = document.querySelector(".station figure:has(img)"), before = sheet && sheet.cloneNode(true);
if (before) { before.className = "before"; root.after(before); }
const NONE = 32767, OVER = 32766, UNDER = -32768;
const stage = $("stage"), canvas = $("map"), over = $("over"), bar = $("bar");
const pick = (name) => root.querySelector(`input[name="${name}"]:checked`);

// State: station, quantity, the configuration shown and the one it is set against.
const state = {s: 0, q: 0, shown: 0, against: data.baseline, view: "one", flick: false, wipe: 0.5, at: null, cut: null};
state.shown = Number(pick("shown").value);
$("station").max = data.stations.length - 1;
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
// doubtOf is the ± of a difference, or of the one, as far as it is known.
const doubted = (s, q, cs) => cs.every((c) => { const v = data.stations[s].surveys[c]; return v && v.doubt[q]; });
async function doubtOf(s, q, cs) {
  if (!doubted(s, q, cs)) return null;
  const us = await Promise.all(cs.map((c) => raster("u", s, q, c)));
  return Float32Array.from(us[0], (u, k) => us.some((r) => r[k] === NONE) ? NONE : Math.hypot(...us.map((r) => r[k])));
}
async function change(s, q, a, b) {
  const key = `d-${s}-${q}-${a}-${b}`;
  if (kept.has(key)) return kept.get(key);
  const [f, g, doubt] = await Promise.all([field(s, q, a), field(s, q, b), doubtOf(s, q, [a, b])]);
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

// Layout in CSS pixels; the overlay's viewBox and the canvas follow it. A view has one
// panel, or one for each configuration; L is the one at work.
let lay = null, L = null;
function layout(width) {
  const b = box(), narrow = width < 560, st = data.stations[state.s], gap = 10;
  const cs = state.view === "all" ? data.configurations.map((_, c) => c).filter((c) => st.surveys[c]) : [-1];
  const cols = narrow ? 1 : Math.min(cs.length, cs.length > 4 ? 3 : 2), rows = Math.ceil(cs.length / cols);
  const left = narrow ? 40 : 56, right = narrow ? 8 : 14, top = 10, bottom = narrow ? 42 : 50;
  const most = paper ? 270 : Math.max(240, Math.min(innerHeight * 0.74, 720)) * (rows > 1 ? (narrow ? 0.5 : 0.62) : 1), tall = (b.y1 - b.y0) / (b.x1 - b.x0);
  const w = Math.min((width - left - right - (cols - 1) * gap) / cols, most / tall), h = w * tall;
  const all = {w: cols * w + (cols - 1) * gap, h: rows * h + (rows - 1) * gap}, x = left + (width - left - right - all.w) / 2;
  const panels = cs.map((c, k) => ({c, b, narrow, w, h, x: x + k % cols * (w + gap), y: top + Math.floor(k / cols) * (h + gap), first: k % cols === 0, low: k + cols >= cs.length, taken: []}));
  lay = {width, height: top + all.h + bottom, x, y: top, ...all, b, narrow, panels};
  L = panels[0];
}
const px = (v) => L.x + (v - L.b.x0) / (L.b.x1 - L.b.x0) * L.w;
const py = (v) => L.y + (L.b.y1 - v) / (L.b.y1 - L.b.y0) * L.h;

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
// paint makes a picture of samples; with mask, of the places within their ± alone.
function paint(key, f, st, scale, step, W, H, mask) {
  key = `${key}/${mask ? "veil" : ""}${W}x${H}/${lay.b.x0},${lay.b.x1},${lay.b.y0},${lay.b.y1}`;
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
      if (mask) continue;
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
const sign = (v, d) => { const s = fix(v, d); return /^[0.]+$/.test(s) ? s : s[0] === "−" ? s : "+" + s; };
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
  const x = (v) => within((v - lay.b.x0) / (lay.b.x1 - lay.b.x0), 0, 1) * W, y = (v) => within((lay.b.y1 - v) / (lay.b.y1 - lay.b.y0), 0, 1) * H;
  ctx.fillStyle = ctx.createPattern(tile, "repeat");
  ctx.fillRect(x(b.x0), y(b.y1), x(b.x1) - x(b.x0), y(b.y0) - y(b.y1));
}

let frame = 0, turn = 0, drawn = false, paper = false;
function soon() { if (!frame) frame = requestAnimationFrame(() => { frame = 0; draw(); }); }
async function draw() {
  const mine = ++turn, {s, q} = state, st = data.stations[s], quantity = data.quantities[q], [a, b] = pair();
  const front = state.view === "one" && state.flick ? a : b;
  const [fd, ...fs] = await Promise.all([state.view === "change" ? change(s, q, a, b) : null, ...data.configurations.map((_, c) => state.view === "all" || c === a || c === b ? field(s, q, c) : null)]);
  if (mine !== turn) return;
  layout(paper ? 720 : stage.clientWidth || 900);
  const dpr = Math.min(devicePixelRatio || 1, 2), W = Math.round(lay.w * dpr), H = Math.round(lay.h * dpr);
  if (canvas.width !== W || canvas.height !== H) { canvas.width = W; canvas.height = H; }
  const pc = (v, of) => (100 * v / of).toFixed(4) + "%";
  stage.style.aspectRatio = `${lay.width} / ${lay.height}`;
  canvas.style.left = pc(lay.x, lay.width); canvas.style.top = pc(lay.y, lay.height); canvas.style.width = pc(lay.w, lay.width); canvas.style.height = pc(lay.h, lay.height);
  over.textContent = "";
  over.setAttribute("viewBox", `0 0 ${lay.width} ${lay.height}`);
  const ctx = canvas.getContext("2d");
  ctx.clearRect(0, 0, W, H);
  let missing = "";
  lay.panels.forEach((p, k) => {
    L = p;
    const c = p.c < 0 ? front : p.c;
    missing = fields(ctx, st, quantity, a, b, c, fs, fd, dpr);
    overlay(k, st, a, p.c < 0 ? b : c, c, missing);
  });
  L = lay.panels[0];
  colourBar(state.view === "change" ? changeScale() : quantity.scale, quantity, a, b);
  caption(st, quantity, a, b, front, missing);
  reading();
  profile();
  if (!drawn) { drawn = true; performance.mark("map drawn"); if (before) before.remove(); }
  remember();
  idle();
}

// fields paints a panel and says what is missing in it.
function fields(ctx, st, quantity, a, b, c, fs, fd, dpr) {
  const W = Math.round(L.w * dpr), H = Math.round(L.h * dpr), x = Math.round((L.x - lay.x) * dpr), y = Math.round((L.y - lay.y) * dpr);
  const one = (k) => fs[k] && paint(`${state.s}/${state.q}/${k}`, fs[k], st, quantity.scale, quantity.step, W, H);
  const none = (k) => `${data.configurations[k]} has no samples of this here`;
  ctx.setTransform(1, 0, 0, 1, x, y);
  hatch(ctx, own[state.s], W, H, dpr);
  if (state.view === "change") {
    if (!fd) return "no change to show: one of the two has no samples here";
    const map = (mask) => paint(`${state.s}/${state.q}/${a}-${b}`, fd, st, changeScale(), quantity.step, W, H, mask), v = veil(st, a, b);
    ctx.drawImage(map(), 0, 0);
    if ($("veil").checked && (v.doubt || v.boxes)) ctx.drawImage(veiled(map(v.doubt), v.boxes || [], W, H, dpr), 0, 0);
  } else if (state.view === "wipe") {
    const cut = Math.round(state.wipe * W), l = one(a), r = one(b);
    if (l && cut > 0) ctx.drawImage(l, 0, 0, cut, H, 0, 0, cut, H);
    if (r && cut < W) ctx.drawImage(r, cut, 0, W - cut, H, cut, 0, W - cut, H);
    if (!l || !r) return none(l ? b : a);
  } else {
    const f = one(c);
    if (!f) return none(c);
    ctx.drawImage(f, 0, 0);
  }
  return "";
}

// changeScale is that of the station, since changes beside the vehicle are many times those behind it.
const changeScale = () => (data.stations[state.s].changes || [])[state.q] || data.quantities[state.q].change;

// veil says where the change from a to b is not resolved: where it is within its local ±,
// else outside the places with a resolved change, else it is not known.
function veil(st, a, b) {
  const on = $("veil").checked, pale = "the pale middle band is the smallest step of the scale, no more.";
  if (doubted(state.s, state.q, [a, b])) return {doubt: true, text: `Changes within their local ± (time average alone) are left without colour${on ? "; the veil dots them" : ""}.`};
  const v = st.surveys[a === data.baseline ? b : b === data.baseline ? a : -1], boxes = v && v.clear, names = [...new Set((boxes || []).map((r) => r.name))];
  if (!boxes) return {text: `No veil: neither a local ± nor the verdict on a region is known for this pair here; ${pale}`};
  return {boxes, text: (!on ? "" : names.length ? `Veil: outside the regions whose local drag or move is resolved (${names.length > 4 ? names.length : names.join(", ")}). ` : "Veil: all over, since of the regions none has a resolved change. ") + `No local ± is known${on && names.length ? ": inside, no place is judged by itself" : ""}; ${pale}`};
}
// veiled dots a map but for some boxes.
function veiled(map, boxes, W, H, dpr) {
  const canvas = () => { const c = document.createElement("canvas"); return [c, c.getContext("2d")]; };
  const [c, ctx] = canvas(), [tile, dot] = canvas(), b = lay.b, n = tile.width = tile.height = Math.round(7 * dpr);
  dot.fillStyle = "rgb(251 250 246 / .6)"; dot.fillRect(0, 0, n, n);
  dot.fillStyle = "#4a4f55"; dot.beginPath(); dot.arc(n / 2, n / 2, dpr, 0, 7); dot.fill();
  c.width = W; c.height = H;
  ctx.drawImage(map, 0, 0);
  const x = (v) => (v - b.x0) / (b.x1 - b.x0) * W, y = (v) => (b.y1 - v) / (b.y1 - b.y0) * H;
  for (const r of boxes) ctx.clearRect(x(r.y[0]), y(r.z[1]), x(r.y[1]) - x(r.y[0]), y(r.z[0]) - y(r.z[1]));
  ctx.globalCompositeOperation = "source-in";
  ctx.fillStyle = ctx.createPattern(tile, "repeat");
  ctx.fillRect(0, 0, W, H);
  return c;
}

// label writes a text on a light plate at the first of some places where it fits into the
// plot and on nothing before it. Where there is none it is left out: the caption has it.
const pen = document.createElement("canvas").getContext("2d");
function label(m, text, cls, places) {
  if (L.narrow) return;
  pen.font = "600 11.5px system-ui,sans-serif";
  const w = pen.measureText(text).width + 10, h = 18;
  for (const [x, y] of places) {
    const r = [x - w / 2, y - h / 2, x + w / 2, y + h / 2];
    if (r[0] < L.x + 2 || r[1] < L.y + 2 || r[2] > L.x + L.w - 2 || r[3] > L.y + L.h - 2 || L.taken.some((t) => t[0] < r[2] && r[0] < t[2] && t[1] < r[3] && r[1] < t[3])) continue;
    L.taken.push(r);
    el(m, "rect", {x: r[0], y: r[1], width: w, height: h, class: "plate"});
    el(m, "text", {x, y: y + 4, "text-anchor": "middle", class: "on small " + cls}, text);
    return;
  }
}

function overlay(panel, st, a, b, front, missing) {
  const g = el(over, "g", {class: "axes"}), view = state.view === "all" ? "one" : state.view;
  el(g, "rect", {x: L.x, y: L.y, width: L.w, height: L.h, class: "frame"});
  const fine = state.view !== "all" && !L.narrow;
  if (L.low) for (const [v, t] of ticks(L.b.x0, L.b.x1, fine ? 12 : 6)) { el(g, "line", {x1: px(v), x2: px(v), y1: L.y + L.h, y2: L.y + L.h + 5}); el(g, "text", {x: px(v), y: L.y + L.h + 18, "text-anchor": "middle"}, t); }
  if (L.first) for (const [v, t] of ticks(L.b.y0, L.b.y1, fine ? 7 : 4)) { el(g, "line", {x1: L.x - 5, x2: L.x, y1: py(v), y2: py(v)}); el(g, "text", {x: L.x - 8, y: py(v) + 4, "text-anchor": "end"}, t); }
  if (L.low) el(g, "text", {x: L.x + L.w / 2, y: L.y + L.h + (L.narrow ? 36 : 42), "text-anchor": "middle", class: "label"}, st.xLabel);
  if (L.first && !L.narrow) el(g, "text", {x: 0, y: 0, transform: `translate(${L.x - 42} ${L.y + L.h / 2}) rotate(-90)`, "text-anchor": "middle", class: "label"}, st.yLabel);
  if (st.ground && L.b.y0 <= 1e-3) el(g, "line", {x1: L.x, x2: L.x + L.w, y1: py(0), y2: py(0), class: "floor"});
  const clip = el(over, "clipPath", {id: `plot-${panel}`});
  el(clip, "rect", {x: L.x, y: L.y, width: L.w, height: L.h});
  const m = el(over, "g", {"clip-path": `url(#plot-${panel})`, class: "marks"});
  const line = (o) => "M" + o.map(([x, y]) => px(x).toFixed(1) + " " + py(y).toFixed(1)).join("L");
  const twice = (d, cls) => { el(m, "path", {d, class: "halo"}); el(m, "path", {d, class: cls}); };
  const vb = st.surveys[b], va = st.surveys[a], vf = st.surveys[front];
  const top = el(over, "g", {});
  const tag = (text, x, end) => {
    const w = Math.min(7.4 * text.length + 18, L.w / 2 - 6), t = el(top, "g", {class: "tag"});
    el(t, "rect", {x: end ? x - w : x, y: L.y + 6, width: w, height: 24});
    L.taken.push([end ? x - w : x, L.y + 6, end ? x : x + w, L.y + 30]);
    const e = el(t, "text", {x: (end ? x - w : x) + 9, y: L.y + 22}, text);
    if (e.getComputedTextLength && e.getComputedTextLength() > w - 14) e.setAttribute("textLength", w - 16);
  };
  const A = data.configurations[a], B = data.configurations[b];
  if (view === "change") tag(`${B} − ${A}`, L.x + 6);
  else if (view === "wipe") {
    const x = L.x + state.wipe * L.w;
    el(top, "line", {x1: x, x2: x, y1: L.y, y2: L.y + L.h, class: "cut-halo"});
    el(top, "line", {x1: x, x2: x, y1: L.y, y2: L.y + L.h, class: "cut"});
    const k = el(top, "g", {class: "grip", transform: `translate(${x} ${L.y + L.h / 2})`});
    el(k, "circle", {r: 13}); el(k, "path", {d: "M-3 -5l-5 5l5 5M3 -5l5 5l-5 5"});
    tag(A, L.x + 6); tag(B, L.x + L.w - 6 - ($("vectors").checked ? 130 : 0), true);
  } else tag(data.configurations[front], L.x + 6);
  if ($("vectors").checked && vf && vf.vectors && longest > 0 && view !== "change") {
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
    L.taken.push([kx - 44, ky - 12, kx + len + 8, ky + 10]);
    el(m, "rect", {x: kx - 44, y: ky - 12, width: len + 52, height: 22, class: "plate"});
    el(m, "text", {x: kx - 6, y: ky + 4, "text-anchor": "end", class: "on"}, `${unit} U`);
    el(m, "path", {d: `M${kx} ${ky}h${len}m-5 -3l5 3l-5 3`, class: "arrow"});
  }
  if ($("outlines").checked) {
    if (view === "one") { if (vf) for (const o of vf.outlines) twice(line(o), "outline"); }
    else if (view === "change") {
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
    if (view === "one" && front === b && va && a !== b) for (const o of va.outlines) el(m, "path", {d: line(o), class: "outline other"});
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
    if (va && a !== b && view !== "one") for (const k of va.marks) ring(k, "spread other");
    const v = view === "one" ? vf : vb;
    if (v) for (const k of v.marks) ring(k, "spread");
  }
  if ($("regions").checked) for (const r of st.boxes) {
    const x = px(r.y[0]), y = py(r.z[1]);
    el(m, "rect", {x, y, width: px(r.y[1]) - x, height: py(r.z[0]) - y, class: "region-halo"});
    el(m, "rect", {x, y, width: px(r.y[1]) - x, height: py(r.z[0]) - y, class: "region"});
  }
  if (state.cut && state.cut.axes === st.axes.join()) {
    const {axis, at} = state.cut, [x0, x1, y0, y1] = axis ? [px(at), px(at), L.y, L.y + L.h] : [L.x, L.x + L.w, py(at), py(at)];
    for (const cls of ["section-halo", "section"]) el(m, "line", {x1: x0, x2: x1, y1: y0, y2: y1, class: cls});
  }
  if ($("centroids").checked) {
    const dot = (k, cls) => {
      const x = px(k.at[0]), y = py(k.at[1]);
      L.taken.push([x - 6, y - 6, x + 6, y + 6]);
      el(m, "circle", {cx: x, cy: y, r: 5, class: cls});
    };
    const whole = vb && !(view === "one" && state.flick), moves = whole && a === data.baseline && vb.shifts || [];
    arrows(m, moves);
    if (va && a !== b) for (const k of va.marks) dot(k, "spot other");
    if (whole) for (const k of vb.marks) dot(k, "spot");
    moveTexts(m, moves);
  }
  if ($("regions").checked && panel === 0) for (const r of st.boxes) {
    pen.font = "600 11.5px system-ui,sans-serif";
    const x0 = Math.max(px(r.y[0]), L.x), x1 = Math.min(px(r.y[1]), L.x + L.w), y0 = Math.max(py(r.z[1]), L.y), y1 = Math.min(py(r.z[0]), L.y + L.h), w = pen.measureText(r.name).width / 2 + 8;
    label(m, r.name, "", [[x0 + w, y0 + 13], [x1 - w, y0 + 13], [x0 + w, y0 - 12], [x1 - w, y0 - 12], [x0 + w, y1 - 12], [x1 - w, y1 - 12]]);
  }
  over.append(top);
  if (missing) el(over, "text", {x: L.x + L.w / 2, y: L.y + L.h / 2, "text-anchor": "middle", class: "missing"}, missing);
  crosses(st);
}
function crosses(st) {
  if (!state.at) return;
  const x = px(st.x[state.at[0]]), y = py(st.y[state.at[1]]);
  if (x < L.x - 1 || x > L.x + L.w + 1 || y < L.y - 1 || y > L.y + L.h + 1) return;
  for (const cls of ["cross-halo", "cross"]) el(over, "path", {d: `M${x - 11} ${y}h8m6 0h8M${x} ${y - 11}v8m0 6v8`, class: cls});
}

// Arrows of the moves, all longer by the study's factor: full where the move is resolved,
// broken with a hollow head where it is not, none where it is not judged.
const tip = (k) => [0, 1].map((i) => k.from[i] + data.magnify * (k.to[i] - k.from[i]));
function arrows(m, list) {
  for (const k of list) {
    const [u, v] = tip(k), x0 = px(k.from[0]), y0 = py(k.from[1]), x1 = px(u), y1 = py(v), n = Math.hypot(x1 - x0, y1 - y0);
    if (k.verdict === "not judged" || n <= 2) continue;
    const h = Math.min(10, n / 2), ux = (x1 - x0) / n * h, uy = (y1 - y0) / n * h, firm = k.verdict === "resolved" ? "" : " open";
    const head = `M${x1 - ux - uy * .5} ${y1 - uy + ux * .5}L${x1} ${y1}L${x1 - ux + uy * .5} ${y1 - uy - ux * .5}Z`;
    el(m, "path", {d: `M${x0} ${y0}L${x1} ${y1}${head}`, class: "shift-halo"});
    el(m, "path", {d: `M${x0} ${y0}L${x1 - ux} ${y1 - uy}`, class: "shift" + firm});
    el(m, "path", {d: head, class: "shift-head" + firm});
    for (let t = 0; t <= n; t += 8) { const x = x0 + t / n * (x1 - x0), y = y0 + t / n * (y1 - y0); L.taken.push([x - 5, y - 5, x + 5, y + 5]); }
  }
}
function moveTexts(m, list) {
  for (const k of list) {
    const [u, v] = tip(k), x = (px(k.from[0]) + px(u)) / 2, up = Math.min(py(k.from[1]), py(v)) - 16, down = Math.max(py(k.from[1]), py(v)) + 16;
    const places = [0, 20, 40, 60].flatMap((d) => [0, -50, 50, -100, 100].flatMap((e) => [[x + e, up - d], [x + e, down + d]]));
    label(m, k.text + (k.verdict === "resolved" ? "" : ", " + k.verdict), "shift-text", places);
  }
  if (data.magnify > 1 && list.length && state.view !== "all") label(m, `arrows of moves ×${data.magnify}`, "", [[L.x + L.w - 78, L.y + 44], [L.x + L.w - 78, L.y + L.h - 14], [L.x + 78, L.y + L.h - 14]]);
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
  const zero = Math.max(0, scale.levels.findIndex((l) => l > 0)), decimals = Math.max(...scale.levels.map((l) => (String(Number(l.toFixed(6))).split(".")[1] || "").length));
  for (let stride = 1; stride <= n + 1; stride++) {
    const some = scale.levels.map((l, k) => ({t: fix(l, decimals), x: at(l), half: 3.7 * fix(l, decimals).length + 3, k})).filter(({k}) => (k - zero) % stride === 0);
    if (some.some((e, i) => i > 0 && some[i - 1].x + some[i - 1].half > e.x - e.half)) continue;
    for (const {t, x} of some) el(bar, "text", {x, y: 34, "text-anchor": "middle"}, t);
    break;
  }
  const what = state.view === "change" ? `change of ${quantity.label}` : quantity.label;
  el(bar, "text", {x: (x0 + x1) / 2, y: 49, "text-anchor": "middle", class: "label"}, what);
}

function caption(st, quantity, a, b, front, missing) {
  const A = data.configurations[a], B = data.configurations[b], words = (c) => st.surveys[c] && st.surveys[c].words ? `: ${st.surveys[c].words}` : "";
  let who;
  if (state.view === "change") who = `${B} minus ${A}${words(b)}`;
  else if (state.view === "wipe") who = `${A} left of the cut, ${B} right of it`;
  else if (state.view === "all") who = `all configurations on one scale`;
  else who = data.configurations[front] + words(front);
  const text = `${st.name}, ${st.place} · ${quantity.label} · ${who}${missing ? ` · nothing is drawn: ${missing}` : ""}.`;
  if ($("caption").textContent !== text) $("caption").textContent = text;
  const moved = a === data.baseline && $("centroids").checked && !(state.view === "one" && state.flick) ? (state.view === "all" ? st.surveys : [st.surveys[b]]).flatMap((v) => v && v.shifts || []) : [];
  $("side").textContent = `${st.from[0].toUpperCase()}${st.from.slice(1)}. ${st.how ? `Samples ${st.how}. ` : ""}` +
    ($("outlines").checked && st.surveys[b] && st.surveys[b].outline ? `Full line: ${st.surveys[b].outline}${state.view === "wipe" || a === b ? "" : `; broken: that of ${A}`}. ` : "") +
    (moved.length ? `${state.view === "all" ? "" : `Centroids against ${A}: ${moved.map((k) => `${k.name} ${k.text} (${k.verdict})`).join("; ")}. `}Arrows${data.magnify > 1 ? ` ×${data.magnify}` : ""}: full where the move is resolved, broken where it is not, none where it is not judged. ` : "") +
    (state.view === "change" ? veil(st, a, b).text : "");
  stage.setAttribute("aria-label", `Map. ${text}`);
  $("station-name").textContent = `${st.name}, ${st.place}`;
  $("station").setAttribute("aria-valuetext", `${st.name}, ${st.place}`);
  $("flick").textContent = `Flick to ${A}`;
  $("flick").setAttribute("aria-pressed", state.flick);
  $("wipe-row").hidden = state.view !== "wipe";
  $("flick").disabled = $("play").disabled = state.view !== "one" || a === b;
  if ($("flick").disabled) play(false);
  stage.dataset.view = state.view;
  $("vectors").disabled = state.view === "change";
  const v = veil(st, a, b);
  $("veil").disabled = state.view !== "change" || !(v.doubt || v.boxes);
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
  if ($("veil").checked) f.set("veil", "on");
  if (state.cut) f.set("cut", `${state.cut.axes.split(",")[1 - state.cut.axis]} ${state.cut.at}`);
  return "#" + f;
}
function remember() {
  const w = words(), now = performance.now(), fast = now - last < 800;
  if (paper || w === written) return;
  opened = opened || w;
  written = w;
  if (!led) { history[fast ? "replaceState" : "pushState"](null, "", w); last = now; }
  else if (location.hash.includes("view=")) history.replaceState(null, "", w);
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
  if (x0 < x1 && y0 < y1) crops(x0, y0, x1 - x0, y1 - y0); else delete crop[kind()];
  if (f.has("wipe")) state.wipe = within(Number(f.get("wipe")) || 0, 0, 1);
  $("veil").checked = f.get("veil") === "on";
  const [axis, at] = (f.get("cut") || "").split(" "), axes = data.stations[state.s].axes, k = axes.indexOf(axis);
  state.cut = k >= 0 && isFinite(at) ? {axis: 1 - k, at: Number(at), axes: axes.join()} : null;
  root.querySelector(`input[name="cut"][value="${state.cut ? state.cut.axis : ""}"]`).checked = true;
  state.at = null; state.flick = false; play(false);
  $("station").value = state.s; $("against").value = state.against; $("wipe").value = Math.round(1000 * state.wipe);
  for (const [name, v] of [["quantity", state.q], ["shown", state.shown]]) root.querySelector(`input[name="${name}"][value="${v}"]`).checked = true;
  led = true;
  return true;
}

async function reading() {
  const out = $("reading");
  if (!state.at) { out.textContent = "Point at the map, or use Shift and the arrow keys, to read a value."; return; }
  const {s, q} = state, st = data.stations[s], quantity = data.quantities[q], [i, j] = state.at, k = j * st.x.length + i, d = quantity.decimals;
  const all = data.configurations, cs = state.view === "all" ? all.map((_, c) => c).filter((c) => st.surveys[c]) : [pair()[1], pair()[0]];
  const [a, b] = [cs[1], cs[0]], fs = await Promise.all(cs.map((c) => field(s, q, c))), [g, f] = fs;
  if (!state.at || state.s !== s || state.q !== q || state.at[0] !== i || state.at[1] !== j) return;
  const one = (r) => !r || r[k] === NONE ? "no sample" : r[k] === OVER ? "beyond what is kept" : r[k] === UNDER ? "below what is kept" : fix(r[k] * quantity.step, d);
  let t = `${st.axes[0]} ${fix(st.x[i], 3)} m, ${st.axes[1]} ${fix(st.y[j], 3)} m · ${quantity.label}: ${(a === b ? [b] : cs).map((c, n) => `${all[c]} ${one(fs[n])}`).join(", ")}`;
  if (state.view !== "all" && a !== b && f && g && [f[k], g[k]].every((v) => v !== NONE && v !== OVER && v !== UNDER)) t += `, change ${sign((g[k] - f[k]) * quantity.step, d)}`;
  out.textContent = t;
}

// Unpack what comes next while nothing else is to be done.
let waiting = 0;
const later = window.requestIdleCallback || ((f) => setTimeout(f, 60));
function idle() {
  if (waiting) return;
  const {s, q} = state, want = [], [a, b] = pair();
  for (const c of state.view === "all" ? data.configurations.keys() : [a, b]) {
    for (let k = 0; k < data.quantities.length; k++) want.push([s, k, c]);
    for (const t of [s + 1, s - 1, ...data.stations.keys()]) if (data.stations[t]) want.push([t, q, c]);
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
  if (!lay) return {u: -1, v: -1};
  const r = stage.getBoundingClientRect(), x = (e.clientX - r.left) * lay.width / r.width, y = (e.clientY - r.top) * lay.height / r.height;
  const p = lay.panels.find((p) => x >= p.x && x <= p.x + p.w && y >= p.y && y <= p.y + p.h) || lay.panels[0];
  return {u: (x - p.x) / p.w, v: (y - p.y) / p.h};
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
// A cut runs along an axis, 0 or 1, through a place; axes says of which planes.
function cutAt(axis, [x, y]) {
  const at = Number((axis ? x : y).toPrecision(4));
  state.cut = axis < 0 ? null : {axis, at, axes: kind()};
  root.querySelector(`input[name="cut"][value="${axis < 0 ? "" : axis}"]`).checked = true;
  draw();
}
const cutPlace = () => { const b = box(), st = data.stations[state.s]; return state.at ? [st.x[state.at[0]], st.y[state.at[1]]] : [(b.x0 + b.x1) / 2, (b.y0 + b.y1) / 2]; };
// profiles has the values of all configurations along the cut at each line of samples; in
// the view of the change less those of the configuration that it is taken against, with the
// ± of what is shown where it is known.
async function profiles() {
  const {s, q, cut} = state, st = data.stations[s], nx = st.x.length, [a, b] = pair(), step = data.quantities[q].step, changed = state.view === "change";
  if (!cut || cut.axes !== st.axes.join()) return null;
  const lines = cut.axis ? st.y : st.x, fs = await Promise.all(data.configurations.map((_, c) => field(s, q, c)));
  const {i0: [l], t: [t]} = places(cut.axis ? st.x : st.y, 1, () => cut.at, st.cells), known = (v) => v !== NONE && v !== OVER && v !== UNDER;
  const value = (f, i) => {
    if (!f || l < 0) return NaN;
    const k = cut.axis ? i * nx + l : l * nx + i, u = f[k], v = f[k + (cut.axis ? 1 : nx)];
    if (known(u) && known(v)) return (u * (1 - t) + v * t) * step;
    const w = t < 0.5 ? u : v;
    return st.cells && known(w) ? w * step : NaN;
  };
  const rows = Array.from(lines, (_, i) => fs.map((f) => value(f, i)));
  const u = await doubtOf(s, q, changed ? [a, b] : [b]);
  return {lines, rows: changed ? rows.map((r) => r.map((v) => v - r[a])) : rows, doubt: u && rows.map((r, i) => [changed ? r[b] - r[a] : r[b], value(u, i)])};
}
async function profile() {
  const mine = turn, st = data.stations[state.s], quantity = data.quantities[state.q], p = await profiles(), svg = $("profile");
  if (mine !== turn) return;
  $("cut").hidden = !p;
  if (!p) return;
  const {axis, at} = state.cut, b = lay.b, [lo, hi] = axis ? [b.y0, b.y1] : [b.x0, b.x1], w = lay.width, x0 = lay.narrow ? 44 : 62, x1 = w - 14;
  let kx = x0, ky = 14;
  const keys = data.configurations.map((name, c) => {
    const wide = 44 + 7.4 * name.length;
    if (!p.rows.some((r) => r[c] === r[c])) return null;
    if (kx > x0 && kx + wide > x1) { kx = x0; ky += 18; }
    kx += wide;
    return [kx - wide, ky];
  }), y0 = ky + 20, y1 = y0 + 186;
  const bars = (p.doubt || []).map(([v, u], i) => [p.lines[i], v - u, v + u]).filter(([x, v]) => x >= lo && x <= hi && v === v);
  const seen = p.rows.filter((_, i) => p.lines[i] >= lo && p.lines[i] <= hi).flat().concat(bars.flatMap(([, u, v]) => [u, v])).filter((v) => v === v);
  let least = Math.min(...seen, Infinity), most = Math.max(...seen, -Infinity);
  if (!(least < most)) [least, most] = least === most ? [least - 1, most + 1] : [0, 1];
  const X = (v) => x0 + (v - lo) / (hi - lo) * (x1 - x0), Y = (v) => y1 - (v - least) / (most - least) * (y1 - y0);
  svg.textContent = "";
  svg.setAttribute("viewBox", `0 0 ${w} ${y1 + 48}`);
  for (const [v, t] of ticks(lo, hi, lay.narrow ? 6 : 12)) { el(svg, "line", {class: "tick", x1: X(v), x2: X(v), y1: y0, y2: y1}); el(svg, "text", {x: X(v), y: y1 + 18, class: "tick-label"}, t); }
  for (const [v, t] of ticks(least, most, 5)) { el(svg, "line", {class: v === 0 ? "zero" : "tick", x1: x0, x2: x1, y1: Y(v), y2: Y(v)}); el(svg, "text", {x: x0 - 8, y: Y(v) + 4, class: "tick-label end"}, t); }
  el(svg, "text", {x: (x0 + x1) / 2, y: y1 + 42, class: "tick-label"}, axis ? st.yLabel : st.xLabel);
  el(svg, "path", {d: bars.map(([x, u, v]) => `M${X(x).toFixed(1)} ${Y(u).toFixed(1)}V${Y(v).toFixed(1)}`).join(""), class: "doubt"});
  data.configurations.forEach((name, c) => {
    if (!keys[c]) return;
    let d = "", on = false;
    p.rows.forEach((r, i) => {
      if (!(p.lines[i] >= lo && p.lines[i] <= hi && r[c] === r[c])) { on = false; return; }
      d += `${on ? "L" : "M"}${X(p.lines[i]).toFixed(1)} ${Y(r[c]).toFixed(1)}`;
      on = true;
    });
    el(svg, "path", {d, class: `curve s${c % 6}`});
    const [x, y] = keys[c];
    el(svg, "path", {d: `M${x} ${y}h26`, class: `curve s${c % 6}`});
    el(svg, "text", {x: x + 32, y: y + 4}, name);
  });
  const what = `${state.view === "change" ? `change against ${data.configurations[pair()[0]]} of ` : ""}${quantity.label} along ${st.axes[axis]} at ${st.axes[1 - axis]} = ${fix(at, 3)} m, ${st.name}`;
  $("cut-words").textContent = what[0].toUpperCase() + what.slice(1) + (bars.length ? `; bars: ± of ${data.configurations[pair()[1]]} at 95 %.` : ".");
  svg.setAttribute("aria-label", what);
}
async function profileCSV() {
  const p = await profiles(), st = data.stations[state.s], quantity = data.quantities[state.q], {axis, at} = state.cut, d = quantity.decimals + 1;
  // A name that a spreadsheet would take for a formula begins with a quotation mark.
  const cell = (t) => `"${(/^[=+@-]/.test(t) ? "'" : "") + t.replaceAll('"', '""')}"`;
  const head = [`${st.axes[axis]} [m]`, `${st.axes[1 - axis]} [m]`, ...data.configurations.map((c) => `${c}: ${state.view === "change" ? "change of " : ""}${quantity.label}`), ...(p.doubt ? [`± of ${data.configurations[pair()[1]]}`] : [])];
  return [head.map(cell), ...p.rows.map((r, i) => [p.lines[i], at, ...[...r, ...(p.doubt ? [p.doubt[i][1]] : [])].map((v) => v === v ? v.toFixed(d) : "")])].map((r) => r.join(",")).join("\n") + "\n";
}
$("csv").addEventListener("click", async () => download(fileName(".csv"), new Blob([await profileCSV()], {type: "text/csv"})));

// The flick goes on by itself, but not for readers who ask for less motion.
let playing = 0;
$("play").hidden = matchMedia("(prefers-reduced-motion: reduce)").matches;
function play(on) {
  clearInterval(playing);
  playing = on ? setInterval(() => flick(!state.flick), 700) : 0;
  $("play").setAttribute("aria-pressed", !!on);
}
$("play").addEventListener("click", () => { const on = !playing; play(on); flick(on); });

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
  else if (t.name === "cut") cutAt(t.value === "" ? -1 : Number(t.value), cutPlace());
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
let dragging = "", pressedAt = [0, 0], swept = 0;
const fingers = new Map();
stage.addEventListener("pointerdown", (e) => {
  const p = place(e), inside = p.u >= 0 && p.u <= 1 && p.v >= 0 && p.v <= 1;
  fingers.set(e.pointerId, [e.clientX, e.clientY]);
  dragging = !inside ? "" : state.view === "wipe" && Math.abs(p.u - state.wipe) * L.w < 24 ? "wipe" : "map";
  if (inside) stage.setPointerCapture(e.pointerId);
  pressedAt = [e.clientX, e.clientY];
  pointAt(p);
});
stage.addEventListener("pointermove", (e) => {
  const p = place(e), was = fingers.get(e.pointerId);
  if (was && dragging === "wipe") wipe(p.u);
  else if (was && dragging) {
    const b = box(), [a, c] = [...fingers.values()], perX = (b.x1 - b.x0) / L.w, perY = (b.y1 - b.y0) / L.h;
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
stage.addEventListener("click", (e) => {
  const p = place(e);
  if (e.detail < 2 && Math.hypot(e.clientX - pressedAt[0], e.clientY - pressedAt[1]) < 5 && p.u >= 0 && p.u <= 1 && p.v >= 0 && p.v <= 1) cutAt(Number(pick("cut").value || 0), spot(p));
});
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
  if (!lay) return;
  for (L of lay.panels) crosses(data.stations[state.s]);
  L = lay.panels[0];
  reading();
}
stage.addEventListener("keydown", (e) => {
  const step = {ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1]}[e.key];
  const move = {a: [-1, 0], d: [1, 0], w: [0, 1], s: [0, -1]}[e.key.toLowerCase()];
  if (e.ctrlKey || e.metaKey || e.altKey) return;
  if (step && e.shiftKey) {
    const st = data.stations[state.s];
    if (!state.at) { const [x, y] = cutPlace(); state.at = [nearest(st.x, x), nearest(st.y, y)]; }
    else state.at = [within(state.at[0] + step[0], 0, st.x.length - 1), within(state.at[1] + step[1], 0, st.y.length - 1)];
    $("reading").setAttribute("aria-live", "polite");
    cross();
  } else if (step && step[0]) { if (!e.repeat || e.timeStamp - swept > 180) { swept = e.timeStamp; station(state.s + step[0]); } }
  else if (step) quantityTo(state.q - step[1]);
  else if (e.key === "f" || e.key === "F" || e.key === " ") { if (!e.repeat) flick(true); }
  else if (move) { const b = box(); pan(move[0] * (b.x1 - b.x0) / 10, move[1] * (b.y1 - b.y0) / 10); }
  else if (e.key === "+" || e.key === "=") zoomMiddle(0.8);
  else if (e.key === "-") zoomMiddle(1.25);
  else if (e.key === "0") reset();
  else if (e.key === "c") cutAt(state.cut ? (state.cut.axis ? -1 : 1) : 0, cutPlace());
  else if (e.key === "v") $("veil").click();
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
    if (lines[lines.length - 1].length + t.length > w / 7) lines.push("");
    lines[lines.length - 1] += t + " ";
  }
  const h = lay.height + 64 + 18 * lines.length, vars = ["--ink", "--soft", "--rule", "--paper", "--hair", "--mark"].map((v) => `${v}:${look.getPropertyValue(v)}`).join(";");
  const svg = el(document.createElement("div"), "svg", {xmlns: NS, width: 2 * w, height: 2 * h, viewBox: `0 0 ${w} ${h}`, style: `${vars};font:12.5px system-ui,sans-serif`});
  el(svg, "style", {}, document.querySelector("style").textContent);
  el(svg, "rect", {width: w, height: h, style: "fill:var(--paper)"});
  const map = el(svg, "g", {class: "stage"}), scale = el(svg, "g", {class: "bar", style: "stroke:none", transform: `translate(0 ${lay.height})`});
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
