// The joint in section with its heat at the moment of a slider, drawn cell by cell.
import { $, ask, degrees, desk, make } from "./desk_shell.js";

// Dark to light, even in grey: stops of a scale of our own between air and 800 degC.
const STOPS = [[0, 12, 10, 40], [0.2, 74, 14, 96], [0.45, 176, 46, 78], [0.7, 233, 112, 40], [0.88, 250, 190, 72], [1, 255, 250, 200]];
const HOTTEST = 800;
let shown = null;

function colour(celsius) {
  const share = Math.min(Math.max((celsius - 20) / (HOTTEST - 20), 0), 1) ** 0.7;
  const n = Math.max(STOPS.findIndex((s) => s[0] >= share), 1);
  const [a, b] = [STOPS[n - 1], STOPS[n]];
  const part = (share - a[0]) / (b[0] - a[0]);
  return `rgb(${[1, 2, 3].map((i) => Math.round(a[i] + part * (b[i] - a[i]))).join(",")})`;
}

export function forgetSection() { shown = null; $("section").hidden = true; $("show-section").hidden = false; }

export function startSection(answerOf) {
  $("show-section").addEventListener("click", async () => {
    const text = desk.text;
    const found = await ask("/section", { text });
    if (text !== desk.text || !found.times_s) return;
    shown = found;
    build(answerOf);
  });
}

function build(answerOf) {
  const canvas = make("canvas", { role: "img" });
  const slider = make("input", { type: "range", min: 0, max: shown.times_s.length - 1, value: 0, "aria-label": "Moment" });
  const words = make("p", { role: "status" });
  const draw = () => paint(canvas, words, Number(slider.value), answerOf());
  slider.addEventListener("input", draw);
  $("section").replaceChildren(canvas, slider, words, make("p", { class: "small" }, "Arc averaged round the ring. White lines: every 100 degC (200 degF); dashed: the limit."));
  $("section").hidden = false;
  $("show-section").hidden = true;
  const hot = shown.what.findIndex((w) => w.startsWith("arc off"));
  slider.value = Math.max(hot, 0);
  draw();
}

function paint(canvas, words, n, answer) {
  const { z_mm: z, r_mm: r, fields_degC: fields } = shown;
  const scale = 1400 / (z[z.length - 1] - z[0]);
  canvas.width = 1400;
  canvas.height = Math.ceil((r[r.length - 1] - r[0]) * scale) + 8;
  const pen = canvas.getContext("2d");
  const X = (v) => (v - z[0]) * scale, Y = (v) => canvas.height - 4 - (v - r[0]) * scale;
  const field = fields[n];
  field.forEach((row, j) => row.forEach((T, i) => {
    if (T === null) return;
    pen.fillStyle = colour(T);
    pen.fillRect(X(z[i]), Y(r[j + 1]), X(z[i + 1]) - X(z[i]) + 0.7, Y(r[j]) - Y(r[j + 1]) + 0.7);
  }));
  const us = desk.units === "us", gap = us ? 200 / 1.8 : 100;
  for (let T = us ? (200 - 32) / 1.8 : 100; T < 1500; T += gap) isotherm(pen, field, T, X, Y, 2, []);
  const limit = answer && answer.limit_degC;
  if (limit) isotherm(pen, field, limit, X, Y, 5, [16, 8]);
  const hottest = Math.max(...field.flat().filter((T) => T !== null));
  words.textContent = `${shown.times_s[n].toFixed(0)} s after the first arc on (${shown.what[n].replace("frame", "between")}): hottest ${degrees(hottest)}`;
  canvas.setAttribute("aria-label", `Section of the joint, ${words.textContent}`);
}

/** Lines of one temperature between the middles of cells of one part (marching squares). */
function isotherm(pen, field, level, X, Y, wide, dash) {
  const { z_mm: z, r_mm: r, part } = shown;
  const mid = (a, i) => (a[i] + a[i + 1]) / 2;
  const path = new Path2D();
  for (let j = 0; j + 1 < field.length; j++) for (let i = 0; i + 1 < field[j].length; i++) {
    const at = [[j, i], [j, i + 1], [j + 1, i + 1], [j + 1, i]];
    const T = at.map(([a, b]) => field[a][b]);
    const kinds = new Set(at.map(([a, b]) => part[a][b]).filter((k) => k >= 0));
    if (T.includes(null) || (kinds.size > 1 && mid(z, i) > 0)) continue;
    const cuts = [];
    for (let k = 0; k < 4; k++) {
      const a = T[k], b = T[(k + 1) % 4];
      if ((a < level) === (b < level)) continue;
      const s = (level - a) / (b - a), [p, q] = [at[k], at[(k + 1) % 4]];
      cuts.push([X(mid(z, p[1]) + s * (mid(z, q[1]) - mid(z, p[1]))), Y(mid(r, p[0]) + s * (mid(r, q[0]) - mid(r, p[0])))]);
    }
    for (let k = 0; k + 1 < cuts.length; k += 2) { path.moveTo(...cuts[k]); path.lineTo(...cuts[k + 1]); }
  }
  pen.setLineDash(dash);
  for (const [ink, more] of [["black", 2.5], ["white", 0]]) { pen.strokeStyle = ink; pen.lineWidth = wide + more; pen.stroke(path); }
}
