// Presets that differ in one thing: their curves laid over each other.
import { $, ask, degrees, desk, make, onUnits } from "./desk_shell.js";
import { drawCurves } from "./desk_curve.js";

const PRESETS = [["size", "Size"], ["length", "Length of the pipe"], ["metal", "Metal"], ["amps", "Current"]];
let found = null;

export function startTeach() {
  const buttons = PRESETS.map(([preset, words]) => make("button", { type: "button", "data-preset": preset, "aria-pressed": "false", on: { click: () => run(preset) } }, words));
  const place = make("div", { class: "card", id: "teach" },
    make("h1", {}, "What makes a joint overheat"),
    make("p", {}, "The joint described, welded again and again with one thing changed; everything else stays."),
    make("div", { class: "row", role: "group", "aria-label": "What differs" }, ...buttons),
    make("p", { class: "state", id: "teach-state", role: "status" }, "Choose what differs."),
    make("div", { id: "teach-curves" }), make("div", { class: "wide", id: "teach-table" }),
    make("div", { class: "row" }, make("button", { type: "button", id: "teach-full", "aria-pressed": "false", on: { click: full } }, "Full screen"),
      make("a", { class: "button", href: "/lesson", target: "_blank", rel: "noopener" }, "Open the lesson")));
  $("panel-teach").append(place);
  onUnits(show);
}

async function full() {
  const place = $("teach"), on = !place.classList.contains("full");
  place.classList.toggle("full", on);
  $("teach-full").setAttribute("aria-pressed", String(on));
  $("teach-full").textContent = on ? "Leave full screen" : "Full screen";
  try {
    if (on && document.documentElement.requestFullscreen) await document.documentElement.requestFullscreen();
    else if (document.fullscreenElement) await document.exitFullscreen();
  } catch { /* the page fills the window all the same */ }
}

async function run(preset) {
  for (const button of document.querySelectorAll("[data-preset]")) button.setAttribute("aria-pressed", String(button.dataset.preset === preset));
  $("teach-state").textContent = "Computing.";
  const answer = await ask("/variants", { text: desk.text, preset });
  if (!answer.variants) {
    $("teach-state").textContent = answer.trouble || (answer.mistakes || []).map((m) => `${m.problem}; ${m.remedy}`).join(" ") || "No answer.";
    return;
  }
  found = answer;
  show();
}

function show() {
  if (!found) return;
  $("teach-state").textContent = `${found.words} differs; the hottest point of the joint, arc averaged round the ring.`;
  const [first] = found.variants;
  const same = found.variants.every((v) => v.limit_degC === first.limit_degC);
  drawCurves($("teach-curves"), found.variants.map((v) => ({ label: v.label, time_s: v.time_s, degC: v.hottest_degC })), { limit_degC: same ? first.limit_degC : undefined, words: `Hottest point against time; ${found.words} differs.` });
  const rows = found.variants.map((v) => make("tr", {}, make("th", { scope: "row" }, v.label), make("td", {}, v.stopped || v.waits.join(", ")), make("td", {}, v.total), same ? null : make("td", {}, degrees(v.limit_degC))));
  $("teach-table").replaceChildren(make("table", {}, make("thead", {}, make("tr", {}, ...[found.words, "Typical waits, min:s", "First arc on to last arc off", ...(same ? [] : ["Limit"])].map((h) => make("th", { scope: "col" }, h)))), make("tbody", {}, ...rows)));
}
