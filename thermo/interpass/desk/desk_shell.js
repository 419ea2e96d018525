// The frame of the page: asks the server, switches panels and units, tells trouble.
import { startJoint } from "./desk_joint.js";
import { startWeld } from "./desk_weld.js";
import { startTeach } from "./desk_teach.js";

export const desk = { units: document.body.dataset.units, listeners: [], text: "" };

export function $(id) { return document.getElementById(id); }

/** Make an element: attributes, then children; text is always text. */
export function make(name, attributes = {}, ...children) {
  const node = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) {
    if (key === "on") for (const [what, call] of Object.entries(value)) node.addEventListener(what, call);
    else if (value === true) node.setAttribute(key, "");
    else if (value !== false && value !== null) node.setAttribute(key, value);
  }
  node.append(...children.filter((child) => child !== null));
  return node;
}

export function tell(words) {
  const place = $("trouble");
  if (place.textContent !== words) place.textContent = words;
  place.hidden = !words;
}

/** Ask the server; an answer that is not fine becomes an Error with its words. */
export async function ask(path, given, signal) {
  const options = given === undefined ? { signal } : {
    method: "POST", body: JSON.stringify(given), signal, headers: { "content-type": "application/json" },
  };
  let response;
  try {
    response = await fetch(path, options);
  } catch (error) {
    if (error.name !== "AbortError") tell("The desk does not answer. Is it still running?");
    throw error;
  }
  const isData = (response.headers.get("content-type") || "").includes("json");
  const found = isData ? await response.json() : await response.text();
  if (!response.ok && response.status !== 409) {
    const words = isData ? found.trouble || found.refused : found;
    tell(words);
    throw new Error(words);
  }
  tell("");
  return found;
}

export function degrees(celsius, digits = 0) {
  if (celsius === null || celsius === undefined) return "-";
  return desk.units === "us" ? `${(celsius * 1.8 + 32).toFixed(digits)} degF` : `${celsius.toFixed(digits)} degC`;
}

export function clock(seconds) {
  const whole = Math.floor(Math.abs(seconds) + 0.5);
  return `${seconds < -0.5 ? "+" : ""}${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, "0")}`;
}

export function onUnits(call) { desk.listeners.push(call); }

export function showPanel(name) {
  for (const tab of document.querySelectorAll(".tab")) {
    const here = tab.dataset.panel === name;
    tab.setAttribute("aria-pressed", String(here));
    $(`panel-${tab.dataset.panel}`).hidden = !here;
  }
}

export function save(name, text, kind = "text/plain") {
  const link = make("a", { href: URL.createObjectURL(new Blob([text], { type: kind })), download: name });
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 1000);
}

if ($("panel-joint")) {
  for (const tab of document.querySelectorAll(".tab")) tab.addEventListener("click", () => showPanel(tab.dataset.panel));
  for (const radio of document.querySelectorAll("[name=units]")) {
    radio.addEventListener("change", () => {
      desk.units = radio.value;
      for (const call of desk.listeners) call();
    });
  }
  startJoint();
  startWeld();
  startTeach();
}
