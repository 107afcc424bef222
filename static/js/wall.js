// The wall by key and clicker: forward, back, dark. Each step is a page of the server, put in place of the one that stands,
// so that a browser that fills the screen goes on filling it.

import { nodes } from "./drill/markup.js";

const FORWARD = new Set(["PageDown", "ArrowRight", " ", "Enter"]);
const BACK = new Set(["PageUp", "ArrowLeft"]);
const DARK = new Set(["b", "B", "."]);
let busy = false;

const wall = () => document.querySelector("[data-wall]");

async function step(link) {
  if (busy) return;
  busy = true;
  try {
    const answer = await fetch(link.href);
    const next = answer.ok && nodes(await answer.text()).querySelector("[data-wall]");
    if (!next) throw new Error("no wall there");
    const keeps = document.activeElement?.matches("[data-on], [data-back]") ? document.activeElement.dataset : null;
    await ready(next);
    wall().replaceWith(next);
    history.replaceState(null, "", link.href);
    (keeps && next.querySelector("on" in keeps ? "[data-on]" : "[data-back]") || next).focus();
    dress();
  } catch {
    location.assign(link.href); // the page itself says what is wrong
  } finally {
    busy = false;
  }
}

/** Wait until the picture has come, so that the room never sees an empty mat. */
async function ready(next) {
  const image = next.querySelector("[data-picture] img");
  if (!image) return;
  const ahead = new Image();
  ahead.sizes = image.sizes;
  ahead.srcset = image.srcset;
  await ahead.decode().catch(() => {});
}

function darken() {
  const button = wall().querySelector("[data-dark]");
  const isDark = wall().classList.toggle("wall-dark");
  button.setAttribute("aria-pressed", String(isDark));
}

function press(event) {
  if (event.ctrlKey || event.altKey || event.metaKey || event.isComposing) return;
  // The letter and the point work while the wall itself has the focus, as it does from the start.
  if (DARK.has(event.key)) {
    if (wall().contains(document.activeElement)) darken();
    return;
  }
  const onControl = event.target.closest?.("button, a");
  if (onControl && (event.key === " " || event.key === "Enter")) return;
  const wanted = FORWARD.has(event.key) ? "[data-on]" : BACK.has(event.key) ? "[data-back]" : "";
  const link = wanted && wall().querySelector(wanted);
  if (!wanted) return;
  event.preventDefault();
  if (wall().classList.contains("wall-dark")) darken();
  else if (link && !event.repeat) step(link);
}

function click(event) {
  const target = event.target.closest?.("[data-on], [data-back], [data-dark], [data-whole-screen]");
  if (!target || event.ctrlKey || event.metaKey || event.shiftKey) return;
  event.preventDefault();
  if (target.matches("[data-on], [data-back]")) return void step(target);
  if (event.detail) wall().focus(); // clicked: else the space bar would press that button again, and not go on
  if ("dark" in target.dataset) darken();
  else fill();
}

function fill() {
  if (document.fullscreenElement) document.exitFullscreen();
  else document.documentElement.requestFullscreen().catch(() => {});
}

function dress() {
  wall().querySelector("[data-dark]").hidden = false;
  wall().querySelector("[data-whole-screen]").hidden = !document.fullscreenEnabled;
}

if (wall()) {
  document.addEventListener("keydown", press);
  document.addEventListener("click", click);
  dress();
  wall().focus();
}
