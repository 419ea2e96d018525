// One weld: its arc buttons, clock, countdown, readings and go or no-go. It counts by
// itself between answers and without a network; taps made meanwhile are sent after.
import { ask, clock, desk, make, onUnits } from "./desk_shell.js";

const ASK_EVERY = 1000, DRAW_EVERY = 200; // ms
let stopShown = () => {};

function storeOf(joint) {
  const key = `desk ${joint}`;
  return {
    load() { try { return JSON.parse(localStorage.getItem(key)) || []; } catch { return []; } },
    save(list) { try { localStorage.setItem(key, JSON.stringify(list)); } catch { /* kept in the page */ } },
  };
}

/** Show a weld in a place; one at a time. */
export function showWeld(host, joint, { phone = false, tools = null } = {}) {
  stopShown();
  const store = storeOf(joint), view = build(joint, phone);
  const own = { joint, phone, view, state: null, at: 0, queue: store.load(), offline: "", sending: false, answered: "" };
  const tick = setInterval(() => draw(own), DRAW_EVERY), poll = setInterval(() => refresh(own, store), ASK_EVERY);
  stopShown = () => { clearInterval(tick); clearInterval(poll); };
  const tap = (kind, value = "", number = 0) => {
    const name = [...crypto.getRandomValues(new Uint8Array(12))].map((b) => b.toString(16).padStart(2, "0")).join("");
    own.queue.push({ name, kind, value, number, when: Date.now() });
    store.save(own.queue);
    draw(own);
    send(own, store);
  };
  wire(own, tap);
  onUnits(() => draw(own));
  host.replaceChildren(view.root, ...(tools ? [tools] : []));
  refresh(own, store);
}

function build(joint, phone) {
  const v = {};
  const hold = (name, node) => (v[name] = node);
  v.root = make("article", { class: "booth", "aria-label": `Weld of ${joint}` },
    hold("title", make("h1", {})), hold("plan", make("p", { class: "small" })),
    hold("words", make("p", { class: "clock-words" })), hold("clock", make("p", { class: "clock", role: "timer", "aria-live": "off" })),
    hold("line", make("p", { class: "verdict" })), hold("sign", make("p", { class: "sign", role: "status", "aria-live": "assertive" })),
    hold("arc", make("button", { type: "button", class: "big main" })), hold("again", make("button", { type: "button" })),
    hold("read", make("form", { novalidate: true }, make("div", { class: "row" },
      make("label", {}, hold("ask", make("span", {})), hold("value", make("input", { type: "text", inputmode: "text", autocomplete: "off" }))),
      make("button", { type: "submit", class: "main" }, "Take this reading")))),
    hold("noted", make("form", { novalidate: true }, make("div", { class: "row" },
      make("label", {}, "Amps", hold("amps", make("input", { type: "text", autocomplete: "off", placeholder: "82 A" }))),
      make("label", {}, "Volts", hold("volts", make("input", { type: "text", autocomplete: "off", placeholder: "11.2 V" }))),
      make("button", { type: "submit" }, "Note them")))),
    hold("wrong", make("p", { class: "wrong", role: "alert" })),
    hold("unsent", make("p", { class: "waiting-list", role: "status", hidden: true })),
    make("div", { class: "row" }, hold("undo", make("button", { type: "button" }, "Take back the last entry")), phone ? null : hold("end", make("button", { type: "button" }, "End this weld"))),
    make("h2", {}, "So far"), hold("events", make("ol", { class: "events" })));
  return v;
}

function wire(own, tap) {
  const { view } = own;
  view.arc.addEventListener("click", () => { const s = now(own); if (s) tap(s.burning ? "off" : "on", "", s.burning ? 0 : s.number + 1); });
  view.again.addEventListener("click", () => tap("on", "", now(own).number));
  view.read.addEventListener("submit", (e) => { e.preventDefault(); if (view.value.value.trim()) tap("read", withUnit(view.value.value)); view.value.value = ""; });
  view.noted.addEventListener("submit", (e) => {
    e.preventDefault();
    for (const [kind, unit] of [["amps", "A"], ["volts", "V"]]) {
      const text = view[kind].value.trim();
      if (text) tap(kind, /^[\d.,]+$/.test(text) ? `${text} ${unit}` : text);
      view[kind].value = "";
    }
  });
  view.undo.addEventListener("click", () => { const s = own.state; if (s && s.last_entry) tap("undo", s.last_entry); });
  if (view.end) view.end.addEventListener("click", () => tap("end"));
}

function withUnit(text) { return /^[\d.,]+$/.test(text.trim()) ? `${text.trim()} ${desk.units === "us" ? "degF" : "degC"}` : text.trim(); }

/** State with what was tapped but not sent yet. */
function now(own) {
  if (!own.state) return null;
  const s = { ...own.state, arcs: [...own.state.arcs], readings: [...own.state.readings] };
  const since = (performance.now() - own.at) / 1000;
  if (s.on_ago_s !== null) s.on_ago_s += since;
  if (s.off_ago_s !== null) s.off_ago_s += since;
  s.readings = s.readings.map((r) => ({ ...r, ago_s: r.ago_s + since }));
  for (const one of own.queue) {
    const ago = (Date.now() - one.when) / 1000;
    if (one.kind === "on") Object.assign(s, { burning: true, number: one.number, on_ago_s: ago, off_ago_s: null, arcs: [...s.arcs, { number: one.number, time_s: ago, off_at: null }] });
    if (one.kind === "off") Object.assign(s, { burning: false, off_ago_s: ago, arcs: [...s.arcs.slice(0, -1), { ...s.arcs[s.arcs.length - 1], time_s: s.on_ago_s - ago, off_at: UNSENT }] });
    if (one.kind === "read") s.readings.push({ value: one.value, ago_s: ago, after: s.number });
  }
  return s;
}

const AWAY = "No connection", UNSENT = -1;

/** Whether the waits told are of this joint as it is: an arc they do not know of makes them void, but for the next pass, which they planned. */
function fits(s) {
  const last = s.arcs[s.arcs.length - 1], { after_pass, off_at } = s.answer;
  if (!last || (last.off_at !== null && last.off_at === off_at)) return true;
  return last.number > after_pass && s.arcs.filter((a) => a.number === last.number).length === 1;
}

async function refresh(own, store) {
  if (own.sending) return;
  if (own.queue.length) { send(own, store); return; }
  try { take(own, await ask(`/joints/${own.joint}/state`)); } catch { own.offline = AWAY; }
}

function take(own, state) { own.state = state; own.at = performance.now(); own.offline = ""; draw(own); }

/** Send what was tapped, in order; an entry leaves the list once the server has it on disk. */
async function send(own, store) {
  if (own.sending) return;
  own.sending = true;
  try {
    while (own.queue.length) {
      const [{ when, ...one }] = own.queue;
      let response;
      try {
        response = await fetch(`/joints/${own.joint}/event`, { method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify({ ...one, age_ms: Math.max(Date.now() - when, 0) }) });
      } catch { own.offline = AWAY; break; }
      if (response.status === 507) { own.offline = (await response.json()).refused; break; } // a full disk: told, and tried again
      if (response.status === 429 || response.status === 503) { own.offline = AWAY; break; }
      own.queue.shift();
      store.save(own.queue);
      const isData = (response.headers.get("content-type") || "").includes("json");
      const found = isData ? await response.json() : { refused: await response.text() };
      own.view.wrong.textContent = found.refused || "";
      if (response.ok) take(own, found);
    }
  } finally { own.sending = false; draw(own); }
}

function draw(own) {
  const s = now(own), { view } = own;
  if (!s) { view.words.textContent = own.offline ? "The desk does not answer." : "..."; return; }
  const row = s.answer && fits(s) ? s.answer.rows.find((r) => r.number === s.number + 1) : undefined;
  const read = row && !s.burning && !s.ended ? judged(s, row) : null;
  const isLast = s.number >= s.passes && !s.burning;
  view.title.textContent = s.title;
  view.plan.textContent = `${s.joint}: pass ${Math.min(s.number + (s.burning ? 0 : 1), s.passes)} of ${s.passes}. ${whose(s)}`;
  set(view.unsent, own.queue.length || own.offline ? `${own.offline ? `${own.offline}: this page counts on. ${own.offline === AWAY ? "Keep it open: it cannot be loaded again before the desk is back. " : ""}` : ""}${own.queue.length ? `${own.queue.length === 1 ? "1 entry is" : `${own.queue.length} entries are`} not on disk yet.` : ""}` : "");
  if (s.ended || isLast) { view.words.textContent = s.ended ? "This weld has ended." : "All passes are welded. Last arc off since"; view.clock.textContent = isLast && s.off_ago_s !== null ? clock(s.off_ago_s) : ""; }
  else if (s.burning) { view.words.textContent = `Arc of pass ${s.number} on since`; view.clock.textContent = clock(s.on_ago_s); }
  else if (s.off_ago_s === null) { view.words.textContent = "Not begun"; view.clock.textContent = "0:00"; }
  else waitWords(view, s, row, read);
  view.line.textContent = row && !s.burning && !s.ended ? `${row.line[desk.units].charAt(0).toUpperCase()}${row.line[desk.units].slice(1)}.` : !s.burning && !s.ended && s.answer && s.answer.by_weld && fits(s) ? `${s.answer.by_weld[desk.units]}.` : "";
  sign(view.sign, row, read);
  view.arc.classList.toggle("main", s.burning || s.number === 0 || (read !== null && read.go === true)); // filled: nothing speaks against it
  set(view.ask, `Reading at the mark${desk.units === "us" ? ", degF" : ", degC"} or with its unit`);
  view.value.placeholder = desk.units === "us" ? "300 degF" : "150 degC";
  view.arc.textContent = s.burning ? `Arc off, pass ${s.number}` : `Arc on, pass ${s.number + 1}`;
  view.arc.hidden = s.ended || isLast;
  view.again.hidden = s.burning || s.ended || s.number === 0;
  view.again.textContent = `Arc on again, still pass ${s.number}`;
  view.read.hidden = s.burning || s.ended;
  view.noted.hidden = s.number === 0;
  view.undo.disabled = !s.last_entry || own.queue.length > 0;
  const entries = s.arcs.map((a) => `pass ${a.number}: arc ${clock(a.time_s)}${a.amps ? `, ${a.amps}` : ""}${a.volts ? `, ${a.volts}` : ""}`);
  entries.push(...s.readings.map((r) => `read ${r.value}${r.after ? ` after pass ${r.after}` : " before pass 1"}, ${clock(r.ago_s)} ago`));
  const words = entries.join("|");
  if (view.events.dataset.words !== words) { view.events.replaceChildren(...entries.map((e) => make("li", {}, e))); view.events.dataset.words = words; }
}

function set(node, words) { if (node.textContent !== words) node.textContent = words; node.hidden = !words; }

function whose(s) {
  if (!s.answer) return "Computing the waits.";
  if (s.answer.trouble) return s.answer.trouble;
  const by = { plan: "Waits as planned", weld: "Waits of the joint as welded", readings: "Waits by the fit to the readings" }[s.answer.by];
  return `${by}${s.is_current || s.burning ? "" : "; computing anew"}${s.answer.left_out ? `; ${s.answer.left_out} ${s.answer.left_out === 1 ? "reading" : "readings"} no joint could give left out` : ""}.${s.answer.short && !s.burning && fits(s) ? ` ${s.answer.short}.` : ""}`;
}

function waitWords(view, s, row, read) {
  const byWeld = s.answer && s.answer.by_weld && fits(s);
  if (!row) { view.words.textContent = byWeld ? "Arc off since" : `Arc off since; ${s.answer && s.answer.stopped && fits(s) ? s.answer.stopped : "computing the wait, do not strike yet"}`; view.clock.textContent = clock(s.off_ago_s); return; }
  const left = row.wait_s - s.off_ago_s;
  view.words.textContent = left > 0 ? `Left to wait before pass ${row.number} (${row.kind} wait ${clock(row.wait_s)}${row.typical_s ? `, typical ${clock(row.typical_s)}` : ""})` : `${read && read.go === false ? "Too hot: wait on and read again" : "Read before you strike"}; past the ${row.kind} wait by`;
  view.clock.textContent = clock(left);
}

/** What the newest reading since the arc went off says: go true, false, or null for a crayon; null without one. */
function judged(s, row) {
  const fresh = s.readings.filter((r) => (s.off_ago_s === null ? s.number === 0 : r.ago_s < s.off_ago_s));
  const last = fresh[fresh.length - 1];
  if (!last) return null;
  const read = celsius(last.value);
  if (read === null) return { value: last.value, go: null };
  const here = desk.units === "us" ? read * 1.8 + 32 : read, most = parseFloat(row.reading[desk.units]);
  return { value: last.value, go: row.number === 1 ? here >= most : here <= most }; // as the words have it, whole degrees
}

/** Go or no-go by a reading; a prediction never says go. */
function sign(node, row, read) {
  node.className = "sign";
  node.hidden = !read;
  if (!read) return;
  if (read.go !== null) node.classList.add(read.go ? "go" : "no-go");
  const words = read.go === null ? "By a crayon: compare with the reading to strike by." : `${read.go ? "\u2713 GO" : "\u2715 NO GO"}: read ${read.value}, strike at ${row.reading[desk.units]}`;
  if (node.textContent !== words) node.textContent = words;
}

export function celsius(text) {
  const found = /^\s*(-?[\d.]+)\s*(?:deg\s*|°)?\s*([CFK])\w*\s*$/i.exec(text.replace(",", "."));
  if (!found) return null;
  const number = Number(found[1]), unit = found[2].toUpperCase();
  return unit === "F" ? (number - 32) / 1.8 : unit === "K" ? number - 273.15 : number;
}
