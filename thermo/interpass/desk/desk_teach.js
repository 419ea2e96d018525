import { $, make } from "./desk_shell.js";
export function startTeach() { $("panel-teach").append(make("p", {}, "")); }
