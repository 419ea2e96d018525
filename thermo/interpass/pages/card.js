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

const NEARLY = 1e-3; // of a degree: what is so near the next whole one is that one

function temperatureText(degC, unit, way) { // "down" for a highest, "up" for a lowest
  const value = fromDegC(degC, unit);
  const whole = way === "down" ? Math.floor(value + NEARLY) :
    way === "up" ? Math.ceil(value - NEARLY) : Math.round(value);
  return whole + " " + unit;
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

// The score s that minimises ((s - centre) / deviation)^2 + ((T - T_s) / error)^2, with T_s
// linear between the members: between two of them that is a parabola, so its least point
// is known. Centre 0 and deviation 1 where nothing was read before.
function pick(family, since, degC, prior = FRESH) {
  const s = family.score, T = curvesAt(family, since), e2 = family.error_K ** 2;
  const d2 = prior.deviation ** 2;
  const cost = (at, cold) => (at - prior.centre) ** 2 / d2 + (degC - cold) ** 2 / e2;
  let best = { score: s[0], cost: cost(s[0], T[0]), slope: 0 };
  for (let n = 1; n < s.length; n += 1) {
    const slope = (T[n] - T[n - 1]) / (s[n] - s[n - 1]);
    const off = degC - T[n - 1] + slope * s[n - 1];
    const least = (prior.centre / d2 + slope * off / e2) / (1 / d2 + slope * slope / e2);
    const at = Math.min(Math.max(least, s[n - 1]), s[n]);
    const here = cost(at, T[n - 1] + slope * (at - s[n - 1]));
    if (here < best.cost) best = { score: at, cost: here, slope };
  }
  return {
    score: best.score,
    left: 1 / (1 / d2 + best.slope ** 2 / e2), // variance of the score that is left
    wait: along(s, family.wait_s, best.score),
    allow: along(s, family.allow_s, best.score),
  };
}

const FRESH = { centre: 0, deviation: 1 };

// What a reading before one pass says about the score of a later one.
function priorAfter(found, link) {
  return { centre: link * found.score, deviation: Math.sqrt(1 - link * link * (1 - found.left)) };
}

const BEYOND = 5; // standard deviations outside the family that no joint reads

function rangeAt(family, since) { // what any plausible joint can read, at one moment
  const T = curvesAt(family, since), room = BEYOND * family.error_K;
  return { low: Math.min(...T), high: Math.max(...T), room };
}

function isPossible(family, since, degC) {
  const { low, high, room } = rangeAt(family, since);
  return degC >= low - room && degC <= high + room;
}

// What a reading says, as one of
//   "go"    at or below the reading to strike by
//   "wait"  above it, and a joint can read it: the wait moves
//   "stop"  hotter than any joint can be by the model: only another reading lifts it
//   "cold"  colder than any joint can be: it shortens nothing
//   "below" colder than what must hold before the arc
//   "early" at or below it, but the place marked may still be warming up
function judge(wait, since, degC, least) {
  const family = wait.family, cool = degC <= wait.strike_at_degC + NEARLY;
  if (family) {
    const { low, high, room } = rangeAt(family, since);
    const over = since >= wait.wait_s;
    if (degC > high + room) return cool ? "go" : "stop";
    if (degC < low - room && !over) return "cold";
  }
  if (least !== null && degC < least - NEARLY) return "below";
  if (cool && since < wait.read_after_s) return "early";
  return cool ? "go" : "wait";
}

function swappedText(family, since, degC, unit) { // "" unless the other unit would fit
  const other = unit === "degF" ? "degC" : "degF";
  const swapped = inDegC(fromDegC(degC, unit), other);
  return family && isPossible(family, since, swapped) ? " Was it " + other + "?" : "";
}

// Two times of a wait, moved by its own reading or by the newest before it.
function targets(wait, run, before) {
  const plain = { wait: wait.wait_s, typical: wait.typical_s, moved: false };
  if (!wait.family) return plain;
  if (run && run.degC !== undefined && isPossible(wait.family, run.since, run.degC)) {
    const found = pick(wait.family, run.since, run.degC, before ? before.prior : FRESH);
    const read = coolAt(wait.family, found.score, wait.strike_at_degC);
    return moved(found.wait, Math.max(found.allow, read));
  }
  return before ? moved(before.wait, before.allow) : plain;
}

// When the curve of a score is down to the reading to strike by.
function coolAt(family, score, degC) {
  const T = family.time_s.map((_, n) => along(family.score, family.reading_degC.map((c) => c[n]), score));
  let n = T.length - 1;
  while (n > 0 && T[n] <= degC) n -= 1;
  if (n === 0 || n === T.length - 1) return n === 0 ? 0 : family.time_s[n];
  const share = (T[n] - degC) / (T[n] - T[n + 1]);
  return family.time_s[n] + share * (family.time_s[n + 1] - family.time_s[n]);
}

function moved(typical, allow) {
  return { typical: Math.ceil(typical), wait: Math.ceil(Math.max(allow, typical)), moved: true };
}

// The newest reading before one wait, as far as it speaks of that wait.
function newestBefore(waits, runs, number) {
  let found = null;
  for (const wait of waits) {
    const run = runs[wait.number], family = wait.family;
    if (wait.number >= number || !family || !run || run.degC === undefined) continue;
    if (!isPossible(family, run.since, run.degC)) continue;
    const inner = newestBefore(waits, runs, wait.number);
    const own = pick(family, run.since, run.degC, inner ? inner.prior : FRESH);
    const later = family.later.find((one) => one.number === number);
    if (!later) continue;
    found = {
      number: wait.number,
      wait: along(family.score, later.wait_s, own.score),
      allow: along(family.score, later.allow_s, own.score),
      prior: priorAfter(own, later.link),
    };
  }
  return found;
}

// "idle"; "hold"; "typical": half the joints are cool enough; "over"; or what the newest
// reading says: "go" and "stop" stay until there is another, and so does "again", when the
// clock was over and the reading too hot all the same.
function phaseOf(goal, elapsed, verdict, since) {
  if (elapsed === null) return "idle";
  if (verdict === "go" || verdict === "stop") return verdict;
  if (verdict === "wait" && since >= goal.wait - 1) return "again";
  if (elapsed >= goal.wait) return "over";
  return goal.typical !== null && elapsed >= goal.typical ? "typical" : "hold";
}

function isRun(run) { // whether what was stored is what this page stores
  if (typeof run !== "object" || run === null || !Number.isFinite(run.arcOff)) return false;
  const read = run.degC !== undefined || run.since !== undefined;
  return !read || (Number.isFinite(run.degC) && Number.isFinite(run.since));
}

// Sound, vibration, and a screen that stays on.

const SIGNALS = { // tones in Hz with their lengths in s, and the same for the hand in ms
  typical: { tones: [[660, 0.15], [880, 0.25]], hand: [200, 150, 200] },
  over: { tones: [[880, 0.4], [880, 0.4], [880, 0.8]], hand: [500, 200, 500, 200, 900] },
};
let speaker = null; // made at a tap: before one, browsers are silent

function openSpeaker() {
  const Context = window.AudioContext || window.webkitAudioContext;
  if (!speaker && Context) speaker = new Context();
  if (speaker && speaker.state === "suspended") speaker.resume().catch(() => {});
}

function signal(name) {
  const { tones, hand } = SIGNALS[name];
  if (navigator.vibrate) navigator.vibrate(hand);
  if (!state.sound || !speaker) return;
  let at = speaker.currentTime + 0.02;
  for (const [pitch, length] of tones) {
    const tone = speaker.createOscillator(), loud = speaker.createGain();
    tone.frequency.value = pitch;
    loud.gain.setValueAtTime(0.6, at);
    loud.gain.linearRampToValueAtTime(0, at + length);
    tone.connect(loud).connect(speaker.destination);
    tone.start(at);
    tone.stop(at + length);
    at += length + 0.1;
  }
}

let lock = null, asked = false; // of the screen
let refusedLock = !("wakeLock" in navigator);

async function keepAwake(needed) {
  if (!needed && lock) {
    const held = lock;
    lock = null;
    await held.release().catch(() => {});
  }
  if (needed && !lock && !asked && !refusedLock && document.visibilityState === "visible") {
    asked = true;
    try {
      lock = await navigator.wakeLock.request("screen");
      lock.addEventListener("release", () => { lock = null; });
    } catch (error) {
      refusedLock = true;
    }
    asked = false;
  }
  const words = !needed ? "" : lock ? "The screen stays on while a timer runs." :
    refusedLock ? "This browser lets the screen go dark: set the phone to stay on. " +
      "The timer goes on all the same; the sound may not." : "";
  put(document.getElementById("awake"), words);
}

// The page.

const CARD = JSON.parse(document.getElementById("card-data").textContent);
const STORE = "interpass-card-" + CARD.key;
const STALE = 6 * 3600; // s after which a timer is taken for yesterday's
let state = { unit: CARD.unit, sound: true, runs: {} };
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
  if (found.sound === false) state.sound = false;
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

function verdictOf(wait, run) { // what the newest reading of a wait says; "" without one
  if (!run || run.degC === undefined) return "";
  return judge(wait, run.since, run.degC, CARD.least_degC);
}

function isLater(wait) { // whether a later pass has been timed
  return Object.keys(state.runs).some((n) => Number(n) > wait.number);
}

function atMost(wait) {
  return temperatureText(wait.strike_at_degC, state.unit, "down");
}

const HOTTER = "Hotter than this joint can be by the model: wait until it reads ";

function statusText(wait, phase, elapsed, later) {
  const most = atMost(wait) + " or less", read = "strike only if the place marked reads ";
  if (later) return "Done: a later pass has been timed.";
  if (phase !== "idle" && elapsed > STALE) return "Old timer: clear it before you use it.";
  if (phase === "idle") return "Tap the moment the arc of pass " + (wait.number - 1) + " is off.";
  if (phase === "stop") return HOTTER + most + ", and find out why.";
  if (phase === "again") return "Not cool enough yet: wait, read again, and " + read + most + ".";
  if (phase === "go") return "Cool enough: strike pass " + wait.number + ".";
  if (phase === "hold") return "Wait.";
  if (phase === "typical") {
    return "Time to read: every second joint is cool enough by now; " + read + most + ".";
  }
  if (wait.kind === "given") return "The wait given in the case is over: " + read + most + ".";
  return "The wait is over: " + read + most + ".";
}

function readingText(wait, run, goal, verdict) {
  if (!verdict) return "";
  const said = temperatureText(run.degC, state.unit) + " at " + sinceText(run.since);
  const asked = " To strike: " + atMost(wait) + " or less.";
  if (verdict === "stop") {
    return "It read " + said + "." + asked + swappedText(wait.family, run.since, run.degC, state.unit);
  }
  if (verdict === "go") return "It read " + said + "." + asked;
  const by = wait.typical_s === null ? 0 : goal.typical - wait.typical_s;
  const how = by > 2 ? "hotter than planned" : by < -2 ? "cooler than planned" : "as planned";
  const told = goal.moved ? " the joint is " + how + ": wait " + clockText(goal.wait) +
    " from arc off (planned " + clockText(wait.wait_s) + ")." : " it is not cool enough.";
  return "With " + said + told + asked;
}

function fromText(before, goal, wait) { // a reading before an earlier pass moved this wait
  if (!before || goal.wait === wait.wait_s) return "";
  return "Moved by the reading before pass " + before.number + "; planned " +
    clockText(wait.wait_s) + ".";
}

function leftText(phase, goal, elapsed) {
  if (phase === "idle") return clockText(goal.wait);
  if (phase === "go") return "GO";
  if (phase === "stop") return "STOP";
  if (phase === "again") return "WAIT";
  return phase === "over" ? "0:00" : clockText(goal.wait - elapsed);
}

function leftOfText(wait, phase, typical) {
  if (phase === "go") return "cool enough by the reading";
  if (phase === "again") return "no clock: read again";
  if (phase === "stop") return "no clock: the reading decides";
  if (phase === "over") return "wait is over: read it";
  if (phase === "typical") return "left of the safe wait; read it";
  return "left of the " + (typical ? wait.kind : "given") + " wait";
}

function show(wait) {
  const box = document.getElementById("wait-" + wait.number);
  const part = (name) => box.querySelector("." + name);
  const run = state.runs[wait.number], elapsed = elapsedOf(run), verdict = verdictOf(wait, run);
  const before = newestBefore(CARD.waits, state.runs, wait.number);
  const goal = targets(wait, run, before), later = isLater(wait);
  const phase = phaseOf(goal, elapsed, verdict, run && run.since);
  const has = run !== undefined && run.degC !== undefined, runs = phase !== "idle" && !later;
  box.dataset.phase = later ? "done" : phase;
  put(part("wait-s"), clockText(goal.wait));
  if (part("typical")) put(part("typical"), clockText(goal.typical));
  put(part("left"), leftText(phase, goal, elapsed));
  put(part("left-of"), leftOfText(wait, phase, goal.typical !== null));
  part("and").hidden = phase === "go" || phase === "stop" || phase === "again";
  part("clock").hidden = !runs;
  put(part("since"), phase === "idle" ? "" : sinceText(elapsed) + " since arc off at " +
    new Date(run.arcOff).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit" }));
  put(part("status"), statusText(wait, phase, elapsed, later));
  part("start").hidden = phase !== "idle";
  part("clear").hidden = phase === "idle";
  part("earlier").hidden = !runs;
  put(part("clear"), sure === wait.number ? "Tap again to clear" : "Clear timer");
  part("reading").hidden = !runs;
  put(part("moved"), later ? "" : has ? readingText(wait, run, goal, verdict) :
    fromText(before, goal, wait));
  part("forget").hidden = !has;
  put(part("unit"), state.unit);
  const told = box.dataset.told;
  if (told && told !== phase && runs && SIGNALS[phase] && elapsed < STALE) signal(phase);
  box.dataset.told = phase;
  return runs && phase !== "go" && elapsed < STALE;
}

function showAll() {
  for (const place of document.querySelectorAll("[data-degc]")) {
    put(place, temperatureText(Number(place.dataset.degc), state.unit, place.dataset.way));
  }
  for (const choice of document.querySelectorAll("input[name=unit]")) {
    choice.checked = choice.value === state.unit;
  }
  const sound = document.getElementById("sound");
  if (sound) sound.checked = state.sound;
  document.getElementById("not-kept").hidden = kept;
  keepAwake(CARD.waits.map(show).some(Boolean));
}

function start(wait) {
  if (!state.runs[wait.number]) state.runs[wait.number] = { arcOff: Date.now() };
  openSpeaker();
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

// Why a reading cannot be used, in words; "" when it can.
function refusal(wait, since, degC, unit, elapsed) {
  if (!Number.isFinite(degC)) return "Type the temperature as a number, like 195.";
  if (!Number.isFinite(since)) return "Type the time as min:s, like 1:20; leave it empty for now.";
  if (since > elapsed + 1) return "That time is still to come.";
  const verdict = judge(wait, since, degC, CARD.least_degC), family = wait.family;
  const text = (T, way) => temperatureText(T, unit, way);
  if (verdict === "below") {
    return text(degC) + " is too cold to strike: at least " + text(CARD.least_degC, "up") + ".";
  }
  if (verdict === "early") {
    return "Too soon to strike by: the place marked may still be warming up. Read from " +
      clockText(wait.read_after_s) + " after arc off.";
  }
  if (verdict !== "cold") return "";
  const { low, high } = rangeAt(family, since);
  return "Not used: no joint like this reads " + text(degC) + " at " + sinceText(since) +
    "; expected " + text(low) + " to " + text(high) + "." +
    swappedText(family, since, degC, unit) + " The wait stays. Check unit, place and contact.";
}

function takeReading(wait) {
  const box = document.getElementById("wait-" + wait.number), run = state.runs[wait.number];
  const degrees = box.querySelector(".degrees"), at = box.querySelector(".at");
  const degC = inDegC(numberIn(degrees.value), state.unit);
  const elapsed = elapsedOf(run);
  const since = at.value.trim() ? secondsIn(at.value) : elapsed;
  const words = refusal(wait, since, degC, state.unit, elapsed);
  refuse(wait, words);
  if (words) return;
  run.degC = degC;
  run.since = since;
  degrees.value = "";
  at.value = "";
  degrees.blur(); // the keyboard of the phone would cover what is told now
  save();
  showAll();
  box.querySelector(".clock").scrollIntoView({ block: "start" });
}

function listen(wait) {
  const box = document.getElementById("wait-" + wait.number);
  const on = (name, what, act) => box.querySelector("." + name).addEventListener(what, act);
  on("start", "click", () => start(wait));
  on("clear", "click", () => clear(wait));
  on("earlier", "click", () => earlier(wait));
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
const sound = document.getElementById("sound");
if (sound) {
  sound.addEventListener("change", () => {
    state.sound = sound.checked;
    openSpeaker();
    if (state.sound) signal("typical"); // so that it is heard before it is needed
    save();
  });
}
addEventListener("click", openSpeaker, { once: true });
addEventListener("storage", () => { load(); showAll(); });
document.addEventListener("visibilitychange", showAll);
showAll();
setInterval(showAll, 250);
