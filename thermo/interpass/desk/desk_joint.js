// Describe the joint and see its waits: the text is the state, the form and answers follow.
import { $, ask, desk, make, onUnits, save, showPanel, tell } from "./desk_shell.js";
import { drawCurves, drawJoint } from "./desk_curve.js";
import { forgetSection, startSection } from "./desk_section.js";
import { startWelding } from "./desk_weld.js";
import { startNew } from "./desk_new.js";

const STEPS = ["averaged", "ring", "bands"];
const TYPING = 90, SETTLED = 350; // ms
let described = null, answer = null, pinned = [], chain = null, timer = 0;
const pending = new Map();
let pumping = false;

export function startJoint() {
  $("open-file").addEventListener("change", openFile);
  $("save-file").addEventListener("click", () => save(document.body.dataset.file, desk.text, "application/toml"));
  startNew((text) => { document.body.dataset.file = "new-joint.toml"; describe(text); });
  $("text").addEventListener("input", () => later(() => describe($("text").value)));
  $("more").addEventListener("click", () => change("passes", String(described.passes + 1)));
  $("fewer").addEventListener("click", () => change("passes", String(described.passes - 1)));
  $("pin").addEventListener("click", pin);
  $("to-weld").addEventListener("click", async () => { if (await startWelding(desk.text)) showPanel("weld"); });
  $("find-remedies").addEventListener("click", remedies);
  $("report-part").addEventListener("toggle", report);
  startSection(() => answer);
  const again = () => { if (described) { showForm(); showAnswer(); showPins(); } };
  onUnits(again);
  window.addEventListener("resize", () => later(again));
  describe("");
}

function later(call) { clearTimeout(timer); timer = setTimeout(call, TYPING); }

async function openFile(event) {
  const [file] = event.target.files;
  if (!file) return;
  event.target.value = "";
  if (file.size > 200000) { tell("That is more than a case file holds."); return; }
  document.body.dataset.file = file.name;
  describe(await file.text());
}

async function describe(text) { show(await ask("/describe", { text })); }

/** Change one key; while one change is under way the others wait, the last of a key counts. */
function change(key, value) { pending.set(key, value); pump(); }

async function pump() {
  if (pumping) return;
  pumping = true;
  try {
    while (pending.size) {
      const [key, value] = pending.entries().next().value;
      pending.delete(key);
      const found = await ask("/change", { text: desk.text, key, value });
      if (found.text === undefined) tell(found.mistakes.map((m) => `${m.problem}; ${m.remedy}`).join(" "));
      else {
        $("kept").textContent = found.kept ? "" : "The text was written anew for this change: its comments are gone. Undo it in the text if you need them.";
        show(found);
      }
    }
  } finally { pumping = false; }
}

function show(found) {
  const changed = desk.text !== found.text;
  described = found;
  desk.text = found.text;
  if (document.activeElement !== $("text")) $("text").value = found.text;
  showForm();
  if (changed) solve();
}

function showForm() {
  $("title").textContent = described.title || "A joint without a title";
  $("fewer").disabled = described.passes < 2;
  const groups = Map.groupBy ? Map.groupBy(described.fields, (f) => f.group) : grouped(described.fields);
  const form = $("form"), names = described.fields.map((f) => f.key + (f.choices.length ? "" : ":")).join("|"); // a bare pipe has others
  if (form.dataset.names !== names) {
    form.replaceChildren(...[...groups].map(([name, fields]) => make("fieldset", { class: "group" }, make("legend", {}, name), ...fields.map(fieldOf))));
    form.dataset.names = names;
  } else for (const field of described.fields) refresh(field);
  const other = described.mistakes.filter((m) => !described.fields.some((f) => f.key === m.key));
  $("mistakes").hidden = !other.length;
  $("mistakes").querySelector("ul").replaceChildren(...other.map((m) => make("li", {}, `${m.line ? `line ${m.line}: ` : ""}${m.problem}${m.remedy ? `; ${m.remedy}` : ""}`)));
  if (described.drawing) drawJoint($("drawing"), described.drawing);
}

function grouped(fields) {
  const found = new Map();
  for (const field of fields) found.set(field.group, [...(found.get(field.group) || []), field]);
  return found;
}

function idOf(key) { return `f-${key.replace(/[^a-z0-9]/gi, "-")}`; }

function fieldOf(field) {
  const id = idOf(field.key), about = `${id}-about`;
  const control = field.choices.length
    ? make("select", { id, "aria-describedby": about, on: { change: (e) => change(field.key, e.target.value) } })
    : make("input", { id, type: "text", "aria-describedby": about, on: { input: (e) => later(() => change(field.key, e.target.value)) } });
  const node = make("div", { class: field.key === "title" ? "field whole" : "field" }, make("label", { for: id }, field.label), control, make("div", { id: about }, make("p", { class: "understood" }), make("p", { class: "wrong", role: "alert" })));
  refresh(field, node);
  return node;
}

function refresh(field, node = $(idOf(field.key)).closest(".field")) {
  const control = node.querySelector("input, select"), [usual, source] = field.usual;
  if (control.tagName === "SELECT") {
    const offered = ["", ...new Set([...(field.given && !field.choices.includes(field.given) ? [field.given] : []), ...field.choices])];
    if (control.dataset.offered !== offered.join("|") + usual) {
      control.replaceChildren(...offered.map((word) => make("option", { value: word }, word || `usual${usual ? `: ${usual}` : ""}`)));
      control.dataset.offered = offered.join("|") + usual;
    }
    control.value = field.given;
  } else {
    if (document.activeElement !== control) control.value = field.given;
    control.placeholder = field.given ? "" : usual;
  }
  const understood = field.understood[desk.units];
  node.querySelector(".understood").textContent = [understood && !isSame(understood, field.given) ? `= ${understood}` : "", !field.given && usual ? source : "", field.about].filter(Boolean).join(", ");
  node.querySelector(".wrong").textContent = field.mistakes.join(" ");
  control.setAttribute("aria-invalid", String(field.mistakes.length > 0));
}

/** Whether two texts are the same number in the same unit: 3.000 in and 3 in. */
function isSame(one, other) {
  const unit = (text) => text.replace(/^[\s\d.+-]+/, "");
  return parseFloat(one) === parseFloat(other) && unit(one) === unit(other);
}

async function solve() {
  if (chain) chain.abort();
  const mine = (chain = new AbortController());
  outdated();
  forgetSection();
  $("remedies").replaceChildren();
  if (described.mistakes.length || !described.fields.length) { $("what").textContent = "The case has mistakes; the answer below is the last one before them."; return; }
  const text = desk.text;
  try {
    for (const step of STEPS) {
      if (step === "ring") await new Promise((done) => setTimeout(done, SETTLED));
      if (mine.signal.aborted) return;
      const found = await ask("/solve", { text, step }, mine.signal);
      if (mine.signal.aborted) return;
      if (!found.step) { $("what").textContent = found.trouble || (found.mistakes || []).map((m) => `${m.problem}; ${m.remedy}`).join(" ") || "No answer."; return; }
      answer = { ...found, text };
      showAnswer();
    }
  } catch (error) { if (error.name !== "AbortError") $("what").textContent = error.message; }
  report();
}

function outdated() {
  if (answer) $("answer").classList.add("stale");
  $("curve").classList.toggle("stale", Boolean(answer));
  $("answer").setAttribute("aria-busy", "true");
  $("what").textContent = answer ? "Computing; what is grey is outdated." : "Computing; the first time after installing takes some 20 seconds.";
}

function showAnswer() {
  if (!answer || answer.text !== desk.text) return;
  const words = answer.shown[desk.units];
  for (const id of ["answer", "curve"]) $(id).classList.remove("stale");
  $("answer").setAttribute("aria-busy", String(answer.step !== "bands"));
  $("what").textContent = `This is: ${answer.what}.`;
  $("verdict").textContent = words.verdict.charAt(0).toUpperCase() + words.verdict.slice(1);
  $("limit").textContent = words.limit;
  $("total").textContent = words.total;
  $("why").textContent = words.why_below;
  $("place").textContent = words.place;
  $("first").tBodies[0].replaceChildren(...words.passes.map((p) => make("tr", {}, ...[p.number, p.given ? `${p.given} (given)` : p.safe, p.typical, p.strike, p.read].map((cell) => make("td", {}, cell)))));
  $("rules").querySelector("tbody").replaceChildren(...[...words.rules].sort((a, b) => "fail note pass".indexOf(a.verdict) - "fail note pass".indexOf(b.verdict)).map((r) => make("tr", {}, make("td", { class: r.verdict }, r.verdict), make("td", {}, r.rule), make("td", {}, r.value), make("td", {}, r.required), make("td", {}, `${r.source}${r.standing ? ` [${r.standing}]` : ""} ${r.advice}`))));
  const { curve } = answer;
  const hot = { label: `hottest metal${answer.step === "averaged" ? ", first estimate" : ""}`, time_s: curve.time_s, degC: curve.hottest_degC, low_degC: curve.low_degC, high_degC: curve.high_degC };
  const read = { label: "at the measuring mark", time_s: curve.time_s, degC: curve.reading_degC };
  drawCurves($("curve"), [hot, read], { limit_degC: answer.limit_degC, arcs_s: curve.arcs_s, words: "Hottest point and reading against time, with the limit." });
}

function pin() {
  if (!answer) return;
  pinned = [...pinned.slice(-3), { name: `${String.fromCharCode(65 + (pinned.length % 26))}: ${described.title}`, answer }];
  showPins();
}

function showPins() {
  $("pinned").hidden = !pinned.length;
  if (!pinned.length) return;
  const rows = [...pinned].map(({ name, answer: a }, n) => {
    const words = a.shown[desk.units], last = words.passes[words.passes.length - 1];
    return make("tr", {}, make("td", {}, name), make("td", {}, words.passes.map((p) => p.safe).join(", ")), make("td", {}, words.passes.map((p) => p.typical).join(", ")), make("td", {}, last.strike), make("td", {}, words.total), make("td", {}, make("button", { type: "button", "aria-label": `Go back to ${name}`, on: { click: () => describe(a.text) } }, "Back to it"), make("button", { type: "button", "aria-label": `Take ${name} away`, on: { click: () => { pinned.splice(n, 1); showPins(); } } }, "Unpin")));
  });
  const heads = ["Pinned", "Safe waits", "Typical waits", "Strike at (last)", "Total", ""];
  const curves = make("div", {});
  $("pinned").replaceChildren(make("h3", {}, "Pinned answers"), make("div", { class: "wide" }, make("table", {}, make("thead", {}, make("tr", {}, ...heads.map((h) => make("th", { scope: "col" }, h)))), make("tbody", {}, ...rows))), curves);
  drawCurves(curves, pinned.map(({ name, answer: a }) => ({ label: name, time_s: a.curve.time_s, degC: a.curve.hottest_degC })), { words: "Pinned answers, hottest point against time." });
}

async function remedies() {
  const text = desk.text;
  $("remedies").textContent = "Running each of them.";
  const found = await ask("/remedies", { text });
  if (text !== desk.text) return;
  if (!found.offered) { $("remedies").textContent = found.trouble || "None could be tried."; return; }
  const offers = found.offered.map((one) => make("div", { class: "offer" }, make("p", {}, make("strong", {}, one.title), `: ${one.before} becomes ${one.after}, at typical waits. ${one.caution}`), make("button", { type: "button", on: { click: () => { pin(); describe(one.text); } } }, "Try it")));
  $("remedies").replaceChildren(...(offers.length ? offers : [make("p", {}, found.remark || "Nothing tried helps.")]));
}

async function report() {
  if (!$("report-part").open || described.mistakes.length) return;
  const text = desk.text, found = await ask("/report", { text, units: desk.units });
  if (text === desk.text) $("report").textContent = found.report || found.trouble || "";
}
