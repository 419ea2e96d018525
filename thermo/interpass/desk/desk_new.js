// A new joint: the questions of `interpass new` on one sheet, what is usual beside each.
import { $, ask, desk, make, onUnits } from "./desk_shell.js";

const TYPING = 150; // ms
let answers = {}, text = "", timer = 0, latest = 0;

/** Let the page begin a joint; `begun` is given its text. */
export function startNew(begun) {
  $("new-joint").addEventListener("click", () => open($("new").hidden));
  $("new-leave").addEventListener("click", () => { answers = {}; open(false); $("new-joint").focus(); });
  $("new-begin").addEventListener("click", () => { begun(text); answers = {}; open(false); $("new-joint").focus(); });
  $("new-form").addEventListener("submit", (e) => e.preventDefault());
  onUnits(() => { if (!$("new").hidden) put(); });
}

async function open(shown) {
  $("new").hidden = !shown;
  $("new-joint").setAttribute("aria-expanded", String(shown));
  if (!shown) { $("new-form").replaceChildren(); return; }
  await put();
  const first = $("new-form").querySelector("select, input");
  if (first) first.focus();
}

function answer(name, value) {
  answers[name] = value;
  text = "";
  $("new-begin").disabled = true;
  clearTimeout(timer);
  timer = setTimeout(put, TYPING);
}

async function put() {
  const mine = (latest += 1), found = await ask("/new", { answers, units: desk.units });
  if (mine !== latest || !found.questions) return;
  text = found.text;
  $("new-begin").disabled = !text;
  $("new-wrong").textContent = found.wrong;
  const form = $("new-form"), names = found.questions.map((q) => q.name + (q.choices.length ? "" : ":")).join("|");
  if (form.dataset.names !== names || !form.children.length) form.replaceChildren(...found.questions.map(fieldOf));
  form.dataset.names = names;
  for (const q of found.questions) refresh(q);
}

function idOf(q) { return `new-${q.name.replace("_", "-")}`; }

function fieldOf(q) {
  const id = idOf(q), about = `${id}-about`;
  const control = q.choices.length
    ? make("select", { id, "aria-describedby": about, on: { change: (e) => answer(q.name, e.target.value) } })
    : make("input", { id, type: "text", "aria-describedby": about, on: { input: (e) => answer(q.name, e.target.value) } });
  return make("div", { class: q.name === "title" ? "field whole" : "field" }, make("label", { for: id }), control, make("p", { id: about, class: "wrong", role: "alert" }));
}

function refresh(q) {
  const control = $(idOf(q)), usual = q.usual ? `usual: ${q.usual}` : "to be answered";
  control.labels[0].textContent = q.choices.length ? q.words.replace(/ \(.*\)$|, like .*$/, "") : q.words; // the list shows them
  if (control.tagName === "SELECT") {
    const offered = ["", ...q.choices], words = offered.join("|") + usual;
    if (control.dataset.offered !== words) control.replaceChildren(...offered.map((word) => make("option", { value: word }, word || usual)));
    control.dataset.offered = words;
    control.value = q.choices.includes(q.given) ? q.given : "";
    if (q.given && !control.value) delete answers[q.name]; // it is not made in this size
  } else {
    if (document.activeElement !== control) control.value = q.given;
    control.placeholder = usual;
  }
  $(`${idOf(q)}-about`).textContent = q.wrong;
  control.setAttribute("aria-invalid", String(Boolean(q.wrong)));
}
