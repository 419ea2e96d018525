// The page of a phone: the weld of its joint and nothing else.
import { $, desk } from "./desk_shell.js";
import { showWeld } from "./desk_booth.js";

for (const radio of document.querySelectorAll("[name=units]")) radio.addEventListener("change", () => { desk.units = radio.value; for (const call of desk.listeners) call(); });
showWeld($("weld"), document.body.dataset.joint, { phone: true });
