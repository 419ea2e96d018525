import { $, make } from "./desk_shell.js";
export function startWeld() { $("panel-weld").append(make("p", {}, "No joint is being welded.")); }
export async function startWelding() { return true; }
