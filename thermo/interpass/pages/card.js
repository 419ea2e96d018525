"use strict";
// Pure functions first: times in s since arc off, temperatures in degC.

function clockText(seconds) {
  const whole = Math.max(0, Math.ceil(seconds - 1e-9));
  return Math.floor(whole / 60) + ":" + String(whole % 60).padStart(2, "0");
}

function sinceText(seconds) { // a time gone by is not rounded up
  return clockText(Math.floor(seconds + 1e-9));
}

function numberIn(text) {
  const clean = text.trim().replace(/\u2212/g, "-").replace(",", ".");
  return /^[+-]?\d{1,5}(\.\d{0,3})?$/.test(clean) ? Number(clean) : NaN;
}

function secondsIn(text) { // "1:20" or "80"
  const parts = text.trim().match(/^(?:(\d{1,3}):)?(\d{1,5})$/);
  if (!parts || (parts[1] !== undefined && (parts[2].length !== 2 || parts[2] > 59))) {
    return NaN;
  }
  return 60 * Number(parts[1] || 0) + Number(parts[2]);
}

function inDegC(value, unit) {
  return unit === "degF" ? (value - 32) / 1.8 : value;
}

function fromDegC(degC, unit) {
  return unit === "degF" ? degC * 1.8 + 32 : degC;
}

function temperatureText(degC, unit) {
  return Math.round(fromDegC(degC, unit)) + " " + unit;
}

function along(x, y, at) { // y at a place between rising x, held at the ends
  if (at <= x[0]) return y[0];
  for (let n = 1; n < x.length; n += 1) {
    if (at <= x[n]) {
      const share = (at - x[n - 1]) / (x[n] - x[n - 1]);
      return y[n - 1] + share * (y[n] - y[n - 1]);
    }
  }
  return y[y.length - 1];
}

function curvesAt(family, since) { // temperature of every member at one moment
  return family.reading_degC.map((curve) => along(family.time_s, curve, since));
}

// The score s that minimises s^2 + ((T - T_s) / error)^2, with T_s linear between the
// members: between two of them that is a parabola, so its least point is known.
function pick(family, since, degC) {
  const s = family.score, T = curvesAt(family, since), e2 = family.error_K ** 2;
  const cost = (at, cold) => at * at + (degC - cold) ** 2 / e2;
  let best = { score: s[0], cost: cost(s[0], T[0]) };
  for (let n = 1; n < s.length; n += 1) {
    const slope = (T[n] - T[n - 1]) / (s[n] - s[n - 1]);
    const least = slope * (degC - T[n - 1] + slope * s[n - 1]) / (e2 + slope * slope);
    const at = Math.min(Math.max(least, s[n - 1]), s[n]);
    const here = cost(at, T[n - 1] + slope * (at - s[n - 1]));
    if (here < best.cost) best = { score: at, cost: here };
  }
  return {
    score: best.score,
    wait: along(s, family.wait_s, best.score),
    allow: along(s, family.allow_s, best.score),
  };
}

const BEYOND = 5; // standard deviations outside the family that no joint reads

function isPossible(family, since, degC) {
  const T = curvesAt(family, since), room = BEYOND * family.error_K;
  return degC >= Math.min(...T) - room && degC <= Math.max(...T) + room;
}

// Why a reading cannot be used, in words; "" when it can.
function refusal(family, since, degC, unit) {
  const text = (T) => temperatureText(T, unit);
  const last = family.time_s[family.time_s.length - 1];
  if (since < family.time_s[0]) {
    return "Too soon: read from " + clockText(family.time_s[0]) + " after arc off.";
  }
  if (since > last + 1) {
    return "Too late: the curves end " + clockText(last) + " after arc off.";
  }
  if (isPossible(family, since, degC)) return "";
  const T = curvesAt(family, since);
  const other = unit === "degF" ? "degC" : "degF";
  const swapped = inDegC(fromDegC(degC, unit), other);
  const guess = isPossible(family, since, swapped) ? " Was it " + other + "?" : "";
  return "Not used: no joint like this reads " + text(degC) + " at " + sinceText(since) +
    "; expected " + text(Math.min(...T)) + " to " + text(Math.max(...T)) + "." + guess +
    " Check unit, place and time.";
}

// The two times of a wait, moved by its reading where there is one.
function targets(wait, run) {
  const plain = { best: wait.best_s, allow: wait.allow_s };
  if (!wait.family || !run || run.degC === undefined) return plain;
  const found = pick(wait.family, run.since, run.degC);
  return { best: Math.ceil(found.wait), allow: Math.ceil(Math.max(found.allow, found.wait)) };
}

function phaseOf(goal, elapsed) { // "idle", "hold", "best" or "over"
  if (elapsed === null) return "idle";
  if (elapsed < goal.best) return "hold";
  return goal.allow !== null && elapsed < goal.allow ? "best" : "over";
}

function isRun(run) { // whether what was stored is what this page stores
  if (typeof run !== "object" || run === null || !Number.isFinite(run.arcOff)) return false;
  const read = run.degC !== undefined || run.since !== undefined;
  return !read || (Number.isFinite(run.degC) && Number.isFinite(run.since));
}

// The page.

const CARD = JSON.parse(document.getElementById("card-data").textContent);
const STORE = "interpass-card-" + CARD.key;
const STALE = 6 * 3600; // s after which a timer is taken for yesterday's
let state = { unit: CARD.unit, runs: {} };
let kept = true;
let sure = null; // the wait whose timer is about to be cleared

function stored() { // what the browser kept for this plan, if anything
  let text = null;
  try {
    text = localStorage.getItem(STORE);
  } catch (error) {
    kept = false;
  }
  try {
    return JSON.parse(text) || {};
  } catch (error) {
    return {};
  }
}

function load() {
  const found = stored(), runs = found.runs || {};
  if (found.unit === "degC" || found.unit === "degF") state.unit = found.unit;
  state.runs = {};
  for (const wait of CARD.waits) {
    if (isRun(runs[wait.number])) state.runs[wait.number] = runs[wait.number];
  }
}

function save() {
  try {
    localStorage.setItem(STORE, JSON.stringify(state));
    kept = true;
  } catch (error) {
    kept = false;
  }
  document.getElementById("not-kept").hidden = kept;
}

function put(element, text) { // only changes are written, so that nothing is read twice
  if (element.textContent !== text) element.textContent = text;
}

function elapsedOf(run) {
  return run ? Math.max(0, (Date.now() - run.arcOff) / 1000) : null;
}

function statusText(wait, phase, elapsed, later) {
  const read = temperatureText(wait.reading_degC, state.unit);
  if (later) return "Done: a later pass has been timed.";
  if (phase !== "idle" && elapsed > STALE) return "Old timer: clear it before you use it.";
  if (phase === "idle") return "Tap the moment the arc of pass " + (wait.number - 1) + " is off.";
  if (phase === "hold") return "Wait.";
  if (phase === "best") {
    return "Best estimate reached. To be safe go on to allow, or measure: " + read +
      " or less at the measuring place.";
  }
  if (wait.given) return "The wait given in the case is over. Measure before arc on.";
  return "The wait is over. Measure: " + read + " or less at the measuring place, then arc on.";
}

function readingText(wait, run, goal) {
  if (!run || run.degC === undefined) return "";
  const plain = targets(wait, null);
  const moved = goal.best - plain.best;
  const how = moved > 2 ? "hotter than planned" : moved < -2 ? "cooler than planned" : "as planned";
  const was = plain.allow === null ? "" : ", allow " + clockText(plain.allow);
  return "With " + temperatureText(run.degC, state.unit) + " at " + sinceText(run.since) +
    " the joint is " + how + ". Planned: best " + clockText(plain.best) + was + ".";
}

function show(wait) {
  const box = document.getElementById("wait-" + wait.number);
  const part = (name) => box.querySelector("." + name);
  const run = state.runs[wait.number], elapsed = elapsedOf(run);
  const goal = targets(wait, run), phase = phaseOf(goal, elapsed);
  const later = Object.keys(state.runs).some((n) => Number(n) > wait.number);
  box.dataset.phase = later ? "done" : phase;
  put(part("best"), clockText(goal.best));
  if (goal.allow !== null) put(part("allow"), clockText(goal.allow));
  const left = phase === "hold" ? goal.best - elapsed : phase === "best" ? goal.allow - elapsed : 0;
  put(part("left"), phase === "over" ? "0:00" : clockText(phase === "idle" ? goal.best : left));
  const to = wait.given ? "left of the given wait" : "left to best";
  put(part("left-of"), phase === "best" ? "left to allow" : phase === "over" ? "wait is over" : to);
  part("clock").hidden = phase === "idle" || later;
  put(part("since"), phase === "idle" ? "" : sinceText(elapsed) + " since arc off at " +
    new Date(run.arcOff).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit" }));
  put(part("status"), statusText(wait, phase, elapsed, later));
  part("start").hidden = phase !== "idle";
  part("clear").hidden = phase === "idle";
  part("earlier").hidden = phase === "idle" || later;
  put(part("clear"), sure === wait.number ? "Tap again to clear" : "Clear timer");
  if (wait.family) {
    part("reading").hidden = phase === "idle" || later;
    put(part("moved"), readingText(wait, run, goal));
    part("forget").hidden = !run || run.degC === undefined;
    put(part("unit"), state.unit);
  }
  if (box.dataset.told && box.dataset.told !== phase && (phase === "best" || phase === "over")) {
    if (navigator.vibrate) navigator.vibrate([400, 200, 400]);
  }
  box.dataset.told = phase;
}

function showAll() {
  for (const place of document.querySelectorAll("[data-degc]")) {
    put(place, temperatureText(Number(place.dataset.degc), state.unit));
  }
  for (const choice of document.querySelectorAll("input[name=unit]")) {
    choice.checked = choice.value === state.unit;
  }
  document.getElementById("not-kept").hidden = kept;
  CARD.waits.forEach(show);
}

function start(wait) {
  if (!state.runs[wait.number]) state.runs[wait.number] = { arcOff: Date.now() };
  save();
  show(wait);
  showAll();
  document.querySelector("#wait-" + wait.number + " .clear").focus({ preventScroll: true });
}

function earlier(wait) { // a late tap would make a reading look cooler than it is
  state.runs[wait.number].arcOff -= 5000;
  save();
  showAll();
}

function clear(wait) {
  if (elapsedOf(state.runs[wait.number]) < 1.5) return; // a bounce of the tap that started it
  if (sure !== wait.number) { // a glove brushes the glass: once is not enough
    sure = wait.number;
    setTimeout(() => { sure = null; showAll(); }, 4000);
  } else {
    sure = null;
    delete state.runs[wait.number];
    refuse(wait, "");
    save();
  }
  showAll();
  const box = document.getElementById("wait-" + wait.number);
  box.querySelector(state.runs[wait.number] ? ".clear" : ".start").focus({ preventScroll: true });
}

function refuse(wait, words) {
  const box = document.getElementById("wait-" + wait.number);
  const refused = box.querySelector(".refused");
  if (refused) put(refused, words);
  const field = box.querySelector(".degrees");
  if (field) field.setAttribute("aria-invalid", words ? "true" : "false");
}

function takeReading(wait) {
  const box = document.getElementById("wait-" + wait.number), run = state.runs[wait.number];
  const degrees = box.querySelector(".degrees"), at = box.querySelector(".at");
  const degC = inDegC(numberIn(degrees.value), state.unit);
  const elapsed = elapsedOf(run);
  const since = at.value.trim() ? secondsIn(at.value) : elapsed;
  let words = "";
  if (!Number.isFinite(degC)) words = "Type the temperature as a number, like 195.";
  else if (!Number.isFinite(since)) words = "Type the time as min:s, like 1:20; leave it empty for now.";
  else if (since > elapsed + 1) words = "That time is still to come.";
  else words = refusal(wait.family, since, degC, state.unit);
  refuse(wait, words);
  if (words) return;
  run.degC = degC;
  run.since = since;
  degrees.value = "";
  at.value = "";
  save();
  showAll();
}

function listen(wait) {
  const box = document.getElementById("wait-" + wait.number);
  const on = (name, what, act) => box.querySelector("." + name).addEventListener(what, act);
  on("start", "click", () => start(wait));
  on("clear", "click", () => clear(wait));
  on("earlier", "click", () => earlier(wait));
  if (!wait.family) return;
  on("reading", "submit", (event) => { event.preventDefault(); takeReading(wait); });
  on("now", "click", () => {
    box.querySelector(".at").value = sinceText(elapsedOf(state.runs[wait.number]));
  });
  on("forget", "click", () => {
    delete state.runs[wait.number].degC;
    delete state.runs[wait.number].since;
    save();
    showAll();
    box.querySelector(".degrees").focus();
  });
}

load();
CARD.waits.forEach(listen);
for (const choice of document.querySelectorAll("input[name=unit]")) {
  choice.addEventListener("change", () => { state.unit = choice.value; save(); showAll(); });
}
addEventListener("storage", () => { load(); showAll(); });
document.addEventListener("visibilitychange", showAll);
showAll();
setInterval(showAll, 250);
