// A folded part that can be turned by finger and folded bend by bend. Drawn on a canvas by our own
// small projection: the sheet is cut into convex plates, ordered from far to near, and painted.
// Needs no graphics processor, so it also works on an old office PC and in a remote session.

const TURN_PER_PX = 0.009;
const KEY_TURN = Math.PI / 24;
const STEP_MS = 850;
const REST_MS = 260;
const STRIP_DEG = 15;
const TOUCH_MM = 0.02;
const LEAST_AREA = 1e-6;
const MANY_PAIRS = 120000;
const LIGHT = [-0.36, 0.5, 0.79];
const SIDE_A = [244, 165, 124];
const SIDE_B = [226, 217, 200];
const RIM = [196, 96, 46];
const ACTIVE = [143, 173, 222];
const INK = "#5a1f05";
const FAINT = "rgb(90 31 5 / 30%)";
const calm = matchMedia("(prefers-reduced-motion: reduce)");
const views = new Map();

// ---- rigid motions: rows of a 3 x 4 matrix ----

const STILL = [1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0];

function after(a, b) {
  const out = new Array(12);
  for (let row = 0; row < 12; row += 4) {
    for (let col = 0; col < 4; col += 1) {
      out[row + col] = a[row] * b[col] + a[row + 1] * b[4 + col] + a[row + 2] * b[8 + col] + (col === 3 ? a[row + 3] : 0);
    }
  }
  return out;
}

function put(m, x, y, z) {
  return [m[0] * x + m[1] * y + m[2] * z + m[3], m[4] * x + m[5] * y + m[6] * z + m[7], m[8] * x + m[9] * y + m[10] * z + m[11]];
}

// Motion of the far face about a rolled arc; the same formula as the server's `roll_motion`.
function rolled(bend, angle, t) {
  const arc = bend.ba * Math.abs(angle / bend.deg);
  const axis = angle >= 0 ? t + bend.r : -bend.r;
  const turn = (angle * Math.PI) / 180;
  const [x, y] = bend.x;
  const [c, s] = [Math.cos(turn) - 1, Math.sin(turn)];
  const m = [1 + c * x * x, c * x * y, -s * x, 0, c * x * y, 1 + c * y * y, -s * y, 0, s * x, s * y, 1 + c, 0];
  const at = [bend.line[0] - (arc / 2) * x, bend.line[1] - (arc / 2) * y, axis];
  const from = put(m, at[0] + arc * x, at[1] + arc * y, axis);
  for (let i = 0; i < 3; i += 1) m[4 * i + 3] = at[i] - from[i];
  return m;
}

// The zone of a bend as strips: each two rings of four corners, near side B and near side A.
function stripsOf(bend, angle, t) {
  const half = bend.ba / 2;
  const arc = bend.ba * Math.abs(angle / bend.deg);
  const axis = angle >= 0 ? t + bend.r : -bend.r;
  const count = angle ? Math.max(2, Math.ceil(Math.abs(angle) / STRIP_DEG)) : 1;
  const marks = [[-half, 0]];
  for (let i = 0; i <= count; i += 1) marks.push([-arc / 2, i / count]);
  marks.push([half - arc, 1]);
  const [x, y] = bend.x;
  const [u0, v0, u1, v1] = bend.line;
  const flipped = (u1 - u0) * y < (v1 - v0) * x;
  const ring = ([off, share], w) => {
    const turn = (angle * share * Math.PI) / 180;
    const arm = w - axis;
    const beyond = share === 1 ? off + arc / 2 : 0;
    const out = (share === 0 ? off : -arc / 2) - arm * Math.sin(turn) + beyond * Math.cos(turn);
    const up = axis + arm * Math.cos(turn) + beyond * Math.sin(turn);
    return [[u0 + out * x, v0 + out * y, up], [u1 + out * x, v1 + out * y, up]];
  };
  const found = [];
  for (let i = 1; i < marks.length; i += 1) {
    const rings = [0, t].map((w) => {
      const [a, b] = [ring(marks[i - 1], w), ring(marks[i], w)];
      return flipped ? [a[1], a[0], b[0], b[1]] : [a[0], a[1], b[1], b[0]];
    });
    const [p, q] = [rings[1][0], rings[1][3]];
    const [g, h] = [rings[0][0], rings[0][3]];
    if (Math.hypot(p[0] - q[0], p[1] - q[1], p[2] - q[2]) + Math.hypot(g[0] - h[0], g[1] - h[1], g[2] - h[2]) > 1e-6) found.push(rings);
  }
  return found;
}

// ---- plates: convex solids with two rings and a mark for each edge ----

function posesOf(part, angles) {
  const poses = part.faces.map(() => STILL);
  part.bends.forEach((bend, i) => {
    if (!bend.twin) poses[bend.far] = angles[i] ? after(poses[bend.near], rolled(bend, angles[i], part.t)) : poses[bend.near];
  });
  return poses;
}

function platesOf(part, angles, active) {
  const poses = posesOf(part, angles);
  const plates = [];
  part.faces.forEach((face, index) => {
    for (const piece of face.parts) {
      const rings = [[], []];
      const edges = [];
      for (let i = 0; i < piece.length; i += 3) {
        rings[0].push(put(poses[index], piece[i], piece[i + 1], 0));
        rings[1].push(put(poses[index], piece[i], piece[i + 1], part.t));
        edges.push(piece[i + 2]);
      }
      plates.push({ rings, edges, face: index, active: false });
    }
  });
  part.bends.forEach((bend, index) => {
    for (const rings of stripsOf(bend, angles[index], part.t)) {
      plates.push({ rings: rings.map((ring) => ring.map((p) => put(poses[bend.near], ...p))), edges: [0, 1, 0, 1], face: -1, active: active.has(index) });
    }
  });
  return { plates, poses };
}

// ---- from far to near ----

function prepared(plate, turn) {
  const [low, high] = plate.rings.map((ring) => ring.map((p) => put(turn, ...p)));
  const n = low.length;
  const points = [...low, ...high];
  const planes = [planeOf(high), planeOf([...low].reverse())];
  for (let i = 0; i < n; i += 1) {
    const j = (i + 1) % n;
    planes.push(planeOf([low[i], low[j], high[j], high[i]]));
  }
  const box = [Infinity, Infinity, Infinity, -Infinity, -Infinity, -Infinity];
  let depth = 0;
  for (const p of points) {
    for (let k = 0; k < 3; k += 1) {
      box[k] = Math.min(box[k], p[k]);
      box[k + 3] = Math.max(box[k + 3], p[k]);
    }
    depth += p[2];
  }
  return { plate, low, high, points, planes, box, depth: depth / points.length, behind: [] };
}

// The plane of a ring of corners, by Newell's sum: corners in one line do no harm. A ring without area,
// as inside a closed hem, has none: nothing lies outside it.
function planeOf(ring) {
  let [x, y, z] = [0, 0, 0];
  ring.forEach((p, i) => {
    const q = ring[(i + 1) % ring.length];
    x += (p[1] - q[1]) * (p[2] + q[2]);
    y += (p[2] - q[2]) * (p[0] + q[0]);
    z += (p[0] - q[0]) * (p[1] + q[1]);
  });
  const length = Math.hypot(x, y, z);
  if (length < LEAST_AREA) return [0, 0, 0, Infinity];
  x /= length; y /= length; z /= length;
  return [x, y, z, x * ring[0][0] + y * ring[0][1] + z * ring[0][2]];
}

const outside = (plane, points) => points.every((p) => plane[0] * p[0] + plane[1] * p[1] + plane[2] * p[2] >= plane[3] - TOUCH_MM);

// 1 when the first lies behind the second, -1 when in front, 0 when their order does not show: two
// plates parted both ways do not cover each other, and calling one of them first would make rings.
function order(a, b) {
  if (a.box[5] <= b.box[2] + TOUCH_MM) return 1;
  if (b.box[5] <= a.box[2] + TOUCH_MM) return -1;
  let found = 0;
  for (const [one, other, sign] of [[a, b, 1], [b, a, -1]]) {
    for (const plane of one.planes) {
      if (!outside(plane, other.points)) continue;
      const which = Math.abs(plane[2]) < 1e-6 ? 0 : sign * Math.sign(plane[2]);
      if (which === 0 || which === -found) return 0;
      found = which;
    }
  }
  return found || Math.sign(b.depth - a.depth);
}

function farToNear(units) {
  units.sort((a, b) => a.depth - b.depth);
  if ((units.length * units.length) / 2 > MANY_PAIRS) return units;
  const across = [...units].sort((a, b) => a.box[0] - b.box[0]);
  across.forEach((a, i) => {
    for (let j = i + 1; j < across.length && across[j].box[0] < a.box[3] - TOUCH_MM; j += 1) {
      const b = across[j];
      if (a.box[1] >= b.box[4] - TOUCH_MM || b.box[1] >= a.box[4] - TOUCH_MM) continue;
      const which = order(a, b);
      if (which > 0) b.behind.push(a);
      else if (which < 0) a.behind.push(b);
    }
  });
  const done = [];
  const seen = new Set();
  for (const unit of units) {
    const waiting = [[unit, 0]];
    if (seen.has(unit)) continue;
    seen.add(unit);
    while (waiting.length) {
      const top = waiting[waiting.length - 1];
      const next = top[0].behind[top[1]];
      top[1] += 1;
      if (!next) { done.push(top[0]); waiting.pop(); } else if (!seen.has(next)) { seen.add(next); waiting.push([next, 0]); }
    }
  }
  return done;
}

// ---- painting ----

function colour(base, plane) {
  const light = 0.76 + 0.28 * Math.max(0, plane[0] * LIGHT[0] + plane[1] * LIGHT[1] + plane[2] * LIGHT[2]);
  return `rgb(${base.map((part) => Math.min(255, Math.round(part * light))).join(" ")})`;
}

function polygon(pen, points, fill, toPx) {
  pen.beginPath();
  points.forEach((p, i) => { const [x, y] = toPx(p); if (i) pen.lineTo(x, y); else pen.moveTo(x, y); });
  pen.closePath();
  pen.fillStyle = fill;
  pen.fill();
  pen.strokeStyle = fill; // closes the hair lines between plates of one face
  pen.lineWidth = 0.8;
  pen.stroke();
}

function lines(pen, points, edges, mark, toPx) {
  pen.beginPath();
  points.forEach((p, i) => {
    if (edges[i] !== mark) return;
    pen.moveTo(...toPx(p));
    pen.lineTo(...toPx(points[(i + 1) % points.length]));
  });
  pen.stroke();
}

function paint(pen, unit, toPx, px) {
  const { low, high, planes, plate } = unit;
  const n = low.length;
  for (let i = 0; i < n; i += 1) {
    if (plate.edges[i] !== 1 || planes[i + 2][2] <= 0) continue;
    const j = (i + 1) % n;
    polygon(pen, [low[i], low[j], high[j], high[i]], colour(RIM, planes[i + 2]), toPx);
  }
  const isA = planes[0][2] > 0;
  if (!isA && planes[1][2] <= 0) return;
  const shown = isA ? high : low;
  const base = plate.active ? ACTIVE : isA ? SIDE_A : SIDE_B;
  polygon(pen, shown, colour(base, planes[isA ? 0 : 1]), toPx);
  pen.strokeStyle = FAINT;
  pen.lineWidth = px;
  lines(pen, shown, plate.edges, 2, toPx);
  pen.strokeStyle = INK;
  pen.lineWidth = 1.3 * px;
  lines(pen, shown, plate.edges, 1, toPx);
}

// ---- one view ----

class View {
  constructor(figure) {
    this.yaw = -0.6; this.pitch = -0.95; this.zoom = 1; this.place = 0;
    this.pointers = new Map(); this.playing = 0;
    this.take(figure);
    this.place = this.part.steps.length;
    new ResizeObserver(() => this.later()).observe(this.canvas);
  }

  take(figure) {
    this.figure = figure;
    this.canvas = figure.querySelector("canvas");
    this.slider = figure.querySelector("input[type=range]");
    if (figure.dataset.fold !== this.source) {
      const whole = !this.part || this.place >= this.part.steps.length;
      this.source = figure.dataset.fold;
      this.part = JSON.parse(this.source);
      this.place = whole ? this.part.steps.length : Math.min(this.place, this.part.steps.length);
      this.frames = null;
    }
    this.later();
  }

  // The angle of every bend at a place in the sequence, and which are being folded.
  angles(place) {
    const angles = this.part.bends.map(() => 0);
    const active = new Set();
    this.part.steps.forEach((step, number) => {
      const share = Math.max(0, Math.min(1, place - number));
      if (!share) return;
      for (const [bend, deg] of step.folds) {
        angles[bend] += (deg - angles[bend]) * share;
        if (share < 1 || (place < this.part.steps.length && place === number + 1)) active.add(bend);
      }
    });
    return { angles, active };
  }

  turn() {
    const [cy, sy, cp, sp] = [Math.cos(this.yaw), Math.sin(this.yaw), Math.cos(this.pitch), Math.sin(this.pitch)];
    return [cy, -sy, 0, 0, cp * sy, cp * cy, -sp, 0, sp * sy, sp * cy, cp, 0];
  }

  // What the flat and the folded part take of the picture: it grows and moves from one to the other.
  fit() {
    const turn = this.turn();
    this.frames = [0, this.part.steps.length].map((place) => {
      const box = [Infinity, Infinity, -Infinity, -Infinity];
      for (const plate of platesOf(this.part, this.angles(place).angles, new Set()).plates) {
        for (const ring of plate.rings) for (const corner of ring) {
          const p = put(turn, ...corner);
          box[0] = Math.min(box[0], p[0]); box[1] = Math.min(box[1], p[1]);
          box[2] = Math.max(box[2], p[0]); box[3] = Math.max(box[3], p[1]);
        }
      }
      const [u, v] = [(box[0] + box[2]) / 2, (box[1] + box[3]) / 2];
      return [...[0, 1, 2].map((k) => turn[k] * u + turn[4 + k] * v), box[2] - box[0] || 1, box[3] - box[1] || 1];
    });
  }

  // Middle (in the part, so it stays put while turning) and size of the picture now.
  framed() {
    const share = this.place / (this.part.steps.length || 1);
    const [x, y, z, wide, high] = this.frames[0].map((flat, k) => flat + (this.frames[1][k] - flat) * share);
    return { centre: [x, y, z], size: [wide, high] };
  }

  draw() {
    this.due = 0;
    const { canvas } = this;
    if (!canvas.isConnected || !canvas.clientWidth) return;
    const px = Math.min(2, devicePixelRatio || 1);
    const [wide, high] = [Math.round(canvas.clientWidth * px), Math.round(canvas.clientHeight * px)];
    if (canvas.width !== wide || canvas.height !== high) [canvas.width, canvas.height] = [wide, high];
    if (!this.frames) this.fit();
    const { centre, size } = this.framed();
    const started = performance.now();
    const turn = this.turn();
    const middle = put(turn, ...centre);
    const scale = this.zoom * 0.86 * Math.min(wide / size[0], high / size[1]);
    const toPx = (p) => [wide / 2 + (p[0] - middle[0]) * scale, high / 2 - (p[1] - middle[1]) * scale];
    const { angles, active } = this.angles(this.place);
    const { plates, poses } = platesOf(this.part, angles, active);
    const units = farToNear(plates.map((plate) => prepared(plate, turn)));
    const pen = canvas.getContext("2d");
    pen.clearRect(0, 0, wide, high);
    pen.lineJoin = "round";
    pen.lineCap = "round";
    for (const unit of units) paint(pen, unit, toPx, px);
    this.names(pen, units, poses, turn, toPx, px);
    this.tell();
    this.ms = performance.now() - started;
  }

  // The number of each face, where it can be seen.
  names(pen, units, poses, turn, toPx, px) {
    pen.textAlign = "center";
    pen.textBaseline = "middle";
    pen.font = `700 ${13 * px}px B612, sans-serif`;
    const taken = [];
    this.part.faces.forEach((face, index) => {
      if (!face.at) return;
      const pose = after(turn, poses[index]);
      const up = pose[10] > 0;
      if (Math.abs(pose[10]) < 0.22) return;
      const [x, y] = toPx(put(pose, face.at[0], face.at[1], up ? this.part.t : 0));
      const first = units.findIndex((unit) => unit.plate.face === index);
      if (units.some((unit, i) => i > first && unit.plate.face !== index && covers(unit, x, y, toPx))) return;
      if (taken.some(([u, v]) => Math.hypot(u - x, v - y) < 23 * px)) return;
      taken.push([x, y]);
      pen.beginPath();
      pen.arc(x, y, 11 * px, 0, 2 * Math.PI);
      pen.fillStyle = "rgb(255 254 251 / 88%)";
      pen.fill();
      pen.strokeStyle = INK;
      pen.lineWidth = px;
      pen.stroke();
      pen.fillStyle = "#141d28";
      pen.fillText(face.n, x, y + px * 0.5);
    });
  }

  // What the controls say: place in the sequence, and whether it plays.
  tell() {
    const { steps } = this.part;
    const at = Math.min(steps.length, Math.ceil(this.place - 1e-6));
    const words = at === 0 ? "flat" : `${at} of ${steps.length}: ${steps[at - 1].name}`;
    const status = this.figure.querySelector(".fold-state");
    if (status && status.textContent !== words) status.textContent = words;
    if (this.slider) {
      this.slider.max = String(steps.length);
      if (Number(this.slider.value) !== this.place) this.slider.value = String(this.place);
      this.slider.setAttribute("aria-valuetext", words);
    }
    const play = this.figure.querySelector("[data-do=play]");
    const name = this.playing ? "❚❚ Stop" : calm.matches ? "▶ Next bend" : "▶ Fold";
    if (play && play.textContent !== name) play.textContent = name;
  }

  later() { this.due ||= requestAnimationFrame(() => this.draw()); }

  play() {
    const end = this.part.steps.length;
    if (this.playing) { cancelAnimationFrame(this.playing); this.playing = 0; this.later(); return; }
    if (calm.matches) { this.place = this.place >= end ? 0 : Math.floor(this.place + 1e-6) + 1; this.later(); return; }
    if (this.place >= end) this.place = 0;
    let number = Math.floor(this.place);
    let started = performance.now() - (this.place - number) * STEP_MS;
    const frame = (now) => {
      const share = Math.max(0, Math.min(1, (now - started) / STEP_MS));
      this.place = Math.min(end, number + share * share * (3 - 2 * share));
      if (share === 1 && now - started > STEP_MS + REST_MS) { number += 1; started = now; }
      this.playing = number < end ? requestAnimationFrame(frame) : 0;
      if (!this.playing) this.place = end;
      this.draw();
    };
    this.playing = requestAnimationFrame(frame);
  }

  reset() { this.yaw = -0.6; this.pitch = -0.95; this.zoom = 1; this.frames = null; this.later(); }

  by(yaw, pitch) {
    this.yaw += yaw;
    this.pitch = Math.max(-Math.PI, Math.min(0, this.pitch + pitch));
    this.later();
  }

  scaled(factor) { this.zoom = Math.max(0.3, Math.min(12, this.zoom * factor)); this.later(); }

  key(event) {
    const turns = { ArrowLeft: [-KEY_TURN, 0], ArrowRight: [KEY_TURN, 0], ArrowUp: [0, -KEY_TURN], ArrowDown: [0, KEY_TURN] };
    if (turns[event.key]) this.by(...turns[event.key]);
    else if (event.key === "+" || event.key === "=") this.scaled(1.2);
    else if (event.key === "-") this.scaled(1 / 1.2);
    else if (event.key === "Home" || event.key === "0") this.reset();
    else if (event.key === " " || event.key === "Enter") this.play();
    else return;
    event.preventDefault();
    event.stopPropagation();
  }

  // One finger turns, two fingers zoom.
  moved(event) {
    const was = this.pointers.get(event.pointerId);
    const now = [event.clientX, event.clientY];
    this.pointers.set(event.pointerId, now);
    if (this.pointers.size === 1) { this.by((now[0] - was[0]) * TURN_PER_PX, (now[1] - was[1]) * TURN_PER_PX); return; }
    const other = [...this.pointers].find(([id]) => id !== event.pointerId)[1];
    const apart = (p) => Math.hypot(p[0] - other[0], p[1] - other[1]) || 1;
    this.scaled(apart(now) / apart(was));
  }
}

function covers(unit, x, y, toPx) {
  const shown = unit.planes[0][2] > 0 ? unit.high : unit.low;
  let inside = false;
  for (let i = 0, j = shown.length - 1; i < shown.length; j = i, i += 1) {
    const [ax, ay] = toPx(shown[i]);
    const [bx, by] = toPx(shown[j]);
    if (ay > y !== by > y && x < ((bx - ax) * (y - ay)) / (by - ay) + ax) inside = !inside;
  }
  return inside;
}

// ---- the page ----

function scan() {
  document.querySelectorAll("figure[data-fold]").forEach((figure) => {
    const known = views.get(figure.id);
    if (!known) views.set(figure.id, new View(figure));
    else if (known.figure !== figure || known.source !== figure.dataset.fold || known.canvas !== figure.querySelector("canvas") || !known.canvas.hasAttribute("width")) known.take(figure);
  });
}

const viewOf = (event) => views.get(event.target.closest?.("figure[data-fold]")?.id);

document.addEventListener("pointerdown", (event) => {
  if (!event.target.matches("figure[data-fold] canvas")) return;
  viewOf(event).pointers.set(event.pointerId, [event.clientX, event.clientY]);
  event.target.setPointerCapture(event.pointerId);
});
document.addEventListener("pointermove", (event) => {
  const view = viewOf(event);
  if (view?.pointers.has(event.pointerId)) view.moved(event);
});
for (const end of ["pointerup", "pointercancel", "lostpointercapture"]) {
  document.addEventListener(end, (event) => viewOf(event)?.pointers.delete(event.pointerId));
}
document.addEventListener("dblclick", (event) => { if (event.target.matches("figure[data-fold] canvas")) viewOf(event).reset(); });
document.addEventListener("keydown", (event) => { if (event.target.matches("figure[data-fold] canvas")) viewOf(event).key(event); });
document.addEventListener("input", (event) => {
  if (!event.target.matches("figure[data-fold] input[type=range]")) return;
  const view = viewOf(event);
  view.place = Number(event.target.value);
  view.later();
});
// The place in the folding is nobody's typed value: a form around the view is not sent for it.
document.addEventListener("change", (event) => {
  if (event.target.matches("figure[data-fold] input[type=range]")) event.stopPropagation();
}, true);
document.addEventListener("click", (event) => {
  const what = event.target.closest("figure[data-fold] [data-do]")?.dataset.do;
  if (what) viewOf(event)[what]();
});
document.addEventListener("toggle", scan, true);
new MutationObserver(scan).observe(document.body, { childList: true, subtree: true, attributes: true, attributeFilter: ["data-fold", "width"] });
document.fonts.ready.then(() => views.forEach((view) => view.later()));
scan();
window.foldViews = views;
