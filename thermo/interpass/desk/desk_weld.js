// The bench: the joints that are welded, one of them in hand, its phone and its review.
import { $, ask, desk, make, save, tell } from "./desk_shell.js";
import { showWeld } from "./desk_booth.js";

let inHand = "";

export function startWeld() {
  $("panel-weld").append(make("h1", {}, "On the bench"), make("div", { class: "joints", id: "joints" }), make("div", { id: "weld" }, make("p", {}, "Describe a joint and press Weld this joint; each joint keeps its own log, on disk.")));
  list();
  setInterval(list, 2000);
}

/** Put a joint on the bench; false when it was refused. */
export async function startWelding(text) {
  try {
    const { joint } = await ask("/joints/start", { text });
    await list();
    take(joint);
    return true;
  } catch { return false; }
}

async function list() {
  if (document.hidden) return;
  let found;
  try { found = await ask("/joints"); } catch { return; }
  const words = JSON.stringify([inHand, found.map((s) => [s.joint, phase(s)])]);
  if ($("joints").dataset.words === words) return;
  $("joints").dataset.words = words;
  const focused = document.activeElement && document.activeElement.dataset.joint;
  $("joints").replaceChildren(...found.map((s) => make("button", { type: "button", "data-joint": s.joint, "aria-pressed": String(s.joint === inHand), on: { click: () => take(s.joint) } }, make("span", {}, `${s.joint}: ${s.title}`), make("span", { class: "small" }, phase(s)))));
  if (focused) { const again = $("joints").querySelector(`[data-joint="${focused}"]`); if (again) again.focus(); }
}

function phase(s) {
  if (s.ended) return "ended";
  if (s.burning) return `arc of pass ${s.number} is on`;
  if (!s.number) return "not begun";
  return s.number < s.passes ? `waits for pass ${s.number + 1}` : "all passes welded";
}

function take(joint) {
  inHand = joint;
  list();
  const report = make("pre", { id: "review" }), phone = make("div", {});
  const tools = make("div", { class: "card" },
    make("div", { class: "row" },
      make("button", { type: "button", on: { click: () => review(joint, report) } }, "Review"),
      make("button", { type: "button", on: { click: () => keepRecord(joint, report) } }, "Save the record"),
      make("a", { class: "button", href: `/joints/${joint}/log.csv`, download: true }, "Save the log"),
      make("a", { class: "button", href: `/joints/${joint}/case.toml`, download: true }, "Save its case"),
      make("button", { type: "button", on: { click: () => window.print() } }, "Print"),
      make("button", { type: "button", on: { click: () => showPhone(joint, phone) } }, "For a phone")),
    phone, report);
  showWeld($("weld"), joint, { tools });
}

async function review(joint, place) {
  place.textContent = "Computing the review.";
  try { place.textContent = (await reviewed(joint)).report; } catch (error) { place.textContent = error.message; }
}

async function reviewed(joint) {
  const found = await ask(`/joints/${joint}/review`, { units: desk.units });
  if (!found.report) throw new Error(found.trouble || (found.mistakes || []).map((m) => m.problem).join("; "));
  return found;
}

async function keepRecord(joint, place) {
  try { save(`${joint}-record.csv`, (await reviewed(joint)).record, "text/csv"); } catch (error) { place.textContent = error.message; }
}

async function showPhone(joint, place) {
  const response = await fetch(`/joints/${joint}/phone`), found = await response.json();
  if (found.refused) { place.textContent = found.refused; return; }
  tell("");
  place.replaceChildren(make("p", {}, "Scan this with the phone in the booth. Whoever has it can see and log this one joint."), make("img", { class: "qr", src: `/joints/${joint}/qr.svg`, alt: `QR code of the address of ${joint}` }), make("p", { class: "small" }, found.address));
}
