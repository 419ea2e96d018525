// Temperature against time: curves with their band, the arcs, the limit; and the drawing.
import { degrees, desk, make, clock } from "./desk_shell.js";

const SVG = "http://www.w3.org/2000/svg";
const HIGH = 360, LEFT = 58, RIGHT = 16, TOP = 30, BELOW = 46;
const NARROWEST = 320, USUAL = 760, TICK = 80, NUMBER = 8; // CSS px
let pictures = 0;

/** Width to draw a picture in, so that its words keep their size on every screen. */
function widthOf(host) { return Math.max(host.clientWidth || USUAL, NARROWEST); }

export function shape(name, attributes, ...children) {
  const node = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) node.setAttribute(key, value);
  node.append(...children);
  return node;
}

function step(span, most) {
  const rough = span / most, power = 10 ** Math.floor(Math.log10(rough));
  return [1, 2, 2.5, 5, 10].map((m) => m * power).find((s) => s >= rough);
}

const TIMES = [5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200];

function shown(celsius) { return desk.units === "us" ? celsius * 1.8 + 32 : celsius; }

/** Draw curves: [{label, time_s, degC, low_degC?, high_degC?}] with {limit_degC, arcs_s, moment_s}. */
export function drawCurves(host, curves, options) {
  const WIDE = widthOf(host), end = Math.max(...curves.map((c) => c.time_s[c.time_s.length - 1]));
  const every = curves.flatMap((c) => c.degC.map(shown));
  const low = Math.min(...every), top = Math.min(Math.max(...every), shown(options.most_degC || 700));
  const x = (t) => LEFT + ((WIDE - LEFT - RIGHT) * t) / end;
  const y = (T) => HIGH - BELOW - ((HIGH - BELOW - TOP) * (shown(T) - low)) / (top - low || 1);
  const inside = `inside-${(pictures += 1)}`;
  const svg = shape("svg", { viewBox: `0 0 ${WIDE} ${HIGH}`, role: "img", "aria-label": options.words || "Temperature against time" });
  for (const [on, off] of options.arcs_s || []) svg.append(shape("rect", { class: "arc-span", x: x(on), y: TOP, width: Math.max(x(off) - x(on), 1), height: HIGH - TOP - BELOW }));
  svg.append(shape("clipPath", { id: inside }, shape("rect", { x: LEFT, y: TOP, width: WIDE - LEFT - RIGHT, height: HIGH - TOP - BELOW })));
  drawAxes(svg, { WIDE, low, top, end, x });
  const drawn = shape("g", { "clip-path": `url(#${inside})` });
  for (const curve of curves) if (curve.low_degC) drawn.append(bandOf(curve, x, y));
  if (options.limit_degC !== undefined) {
    const at = y(options.limit_degC);
    svg.append(shape("line", { class: "limit-line", x1: LEFT, x2: WIDE - RIGHT, y1: at, y2: at }));
  }
  curves.forEach((curve, n) => {
    const points = curve.time_s.map((t, i) => `${x(t).toFixed(1)},${y(curve.degC[i]).toFixed(1)}`).join(" ");
    drawn.append(shape("polyline", { class: `curve c${n % 5} d${n % 5}`, points }));
  });
  svg.append(drawn);
  if (options.moment_s !== undefined) svg.append(shape("line", { class: "moment", x1: x(options.moment_s), x2: x(options.moment_s), y1: TOP, y2: HIGH - BELOW }));
  host.replaceChildren(svg, legendOf(curves, options));
}

function drawAxes(svg, { WIDE, low, top, end, x }) {
  const unit = desk.units === "us" ? "degF" : "degC";
  const size = step(top - low || 1, 6);
  for (let T = Math.ceil(low / size) * size; T <= top; T += size) {
    const at = HIGH - BELOW - ((HIGH - BELOW - TOP) * (T - low)) / (top - low || 1);
    svg.append(shape("line", { class: "grid", x1: LEFT, x2: WIDE - RIGHT, y1: at, y2: at }));
    svg.append(shape("text", { x: LEFT - 6, y: at + 4, "text-anchor": "end" }, String(Math.round(T))));
  }
  const most = Math.min(Math.floor(WIDE / TICK), 8), tick = TIMES.find((t) => end / t <= most) || step(end, most);
  for (let t = 0; t <= end; t += tick) svg.append(shape("text", { x: x(t), y: HIGH - BELOW + 18, "text-anchor": "middle" }, clock(t)));
  svg.append(shape("path", { class: "axis", d: `M${LEFT} ${TOP}V${HIGH - BELOW}H${WIDE - RIGHT}` }));
  svg.append(shape("text", { x: WIDE - RIGHT, y: HIGH - 6, "text-anchor": "end" }, "min:s since the first arc on"));
  svg.append(shape("text", { x: LEFT - 6, y: 14, "text-anchor": "end" }, unit));
}

function bandOf(curve, x, y) {
  const go = curve.time_s.map((t, i) => `${x(t).toFixed(1)},${y(curve.high_degC[i]).toFixed(1)}`);
  const back = curve.time_s.map((t, i) => `${x(t).toFixed(1)},${y(curve.low_degC[i]).toFixed(1)}`).reverse();
  return shape("polygon", { class: "band", points: [...go, ...back].join(" ") });
}

function legendOf(curves, options) {
  const list = make("ul", { class: "legend" });
  curves.forEach((curve, n) => {
    const line = shape("svg", { viewBox: "0 0 46 12", "aria-hidden": "true" }, shape("line", { class: `curve c${n % 5} d${n % 5}`, x1: 0, x2: 46, y1: 6, y2: 6 }));
    list.append(make("li", {}, line, curve.label));
  });
  if (curves.some((c) => c.low_degC)) list.append(make("li", {}, shape("svg", { viewBox: "0 0 46 12", "aria-hidden": "true" }, shape("rect", { class: "band", width: 46, height: 12 })), "9 in 10 plausible joints"));
  if (options.limit_degC !== undefined) list.append(make("li", {}, shape("svg", { viewBox: "0 0 46 12", "aria-hidden": "true" }, shape("line", { class: "limit-line", x1: 0, x2: 46, y1: 6, y2: 6 })), `limit ${degrees(options.limit_degC)}`));
  if (options.arcs_s) list.append(make("li", {}, shape("svg", { viewBox: "0 0 46 12", "aria-hidden": "true" }, shape("rect", { class: "arc-span", width: 46, height: 12 })), "arc on"));
  return list;
}

/** Draw the joint to scale, half a section above the axis, with the measuring mark. */
export function drawJoint(host, joint) {
  const [low, high] = joint.view_mm;
  const points = [...joint.pipe, ...joint.fitting, ...joint.beads].flat();
  const most = Math.max(...points.map((p) => p[1]));
  const WIDE = widthOf(host), scale = (WIDE - 60) / (high - low), tall = most * scale + 70;
  const at = ([z, r]) => `${((z - low) * scale + 30).toFixed(1)},${(tall - 22 - r * scale).toFixed(1)}`;
  const svg = shape("svg", { viewBox: `0 0 ${WIDE} ${tall.toFixed(0)}`, role: "img", "aria-label": "The joint in half section, to scale, with its beads and the place to measure." });
  for (const part of joint.fitting) svg.append(shape("polygon", { class: "p-fitting", points: part.map(at).join(" ") }));
  for (const part of joint.pipe) svg.append(shape("polygon", { class: "p-pipe", points: part.map(at).join(" ") }));
  for (const part of joint.band) svg.append(shape("polygon", { class: "p-bead", points: part.map(at).join(" ") }));
  const isRoomy = joint.beads.every((bead) => (bead[0][0] - bead[1][0]) * scale >= NUMBER);
  joint.beads.forEach((bead, n) => {
    svg.append(shape("polygon", { class: "p-bead", points: bead.map(at).join(" ") }));
    const [x, y] = at([(bead[0][0] + bead[1][0]) / 2, bead[1][1]]).split(",");
    if (isRoomy) svg.append(shape("text", { x, y: Number(y) + 15, "text-anchor": "middle" }, String(n + 1)));
  });
  const [mx, my] = at(joint.mark.at).split(",").map(Number);
  svg.append(shape("path", { class: "p-mark", d: `M${mx} ${my}l-9 -18h18z` }));
  svg.append(shape("text", { x: 30, y: 18 }, `\u25bc measure ${joint.mark.words[desk.units]}`));
  svg.append(shape("line", { class: "p-axis", x1: 0, x2: WIDE, y1: tall - 22, y2: tall - 22 }));
  const sizes = Object.entries(joint.sizes_mm).map(([name, size]) => `${name} ${desk.units === "us" ? `${(size / 25.4).toFixed(3)} in` : `${size.toFixed(2)} mm`}`);
  if (!isRoomy) sizes.push(`passes 1 to ${joint.beads.length} lie from the corner outwards`);
  host.replaceChildren(svg, make("p", { class: "small" }, sizes.join(" · ")));
}
