// A rectangle on a picture, drawn by pointer, finger or keys; the number fields always say the same and are what is sent.

import { say } from "../words.js";

const STEP = 1; // percent a key press
const LEAST = 1;
const NAMES = ["left", "top", "width", "height"];

class Rectangle {
  #stage;
  #fields;
  #told;
  #box = make("div", "box");
  #start = make("div", "corner corner-start");
  #end = make("div", "corner corner-end");
  #drag = null;
  #now;

  constructor(stage, form) {
    this.#stage = stage;
    this.#fields = NAMES.map((name) => form.elements[name]);
    this.#told = form.querySelector("[data-told]");
    stage.querySelector("[data-plain]")?.remove();
    for (const hint of form.querySelectorAll("[data-scripted]")) hint.hidden = false;
    this.#box.tabIndex = 0;
    this.#box.setAttribute("role", "application");
    this.#box.setAttribute("aria-label", say("{name}. Arrows move it, arrows with Shift change its size.", { name: stage.dataset.name }));
    stage.append(this.#box, this.#start, this.#end);
    this.#read();
    for (const field of this.#fields) field.addEventListener("change", () => this.#read());
    this.#box.addEventListener("keydown", (event) => this.#key(event));
    stage.addEventListener("pointerdown", (event) => this.#down(event));
    stage.addEventListener("pointermove", (event) => this.#move(event));
    for (const name of ["pointerup", "pointercancel"]) stage.addEventListener(name, (event) => this.#up(event));
    stage.addEventListener("dragstart", (event) => event.preventDefault());
  }

  /** Take what the fields say, as far as it is a rectangle; what is typed stays as it is, and the hall judges it. */
  #read() {
    const typed = this.#fields.map((field) => Number(field.value.replace(",", ".")));
    if (typed.every(Number.isFinite)) this.#show(...typed);
  }

  #show(left, top, width, height) {
    const wide = within(width, LEAST, 100);
    const high = within(height, LEAST, 100);
    this.#now = [within(left, 0, 100 - wide), within(top, 0, 100 - high), wide, high];
    const [x, y] = this.#now;
    place(this.#box, { x, y, wide, high });
    place(this.#start, { "at-x": x, "at-y": y });
    place(this.#end, { "at-x": x + wide, "at-y": y + high });
  }

  #set(...sides) {
    this.#show(...sides.map((side) => Math.round(side * 10) / 10));
    this.#now.forEach((side, at) => (this.#fields[at].value = side.toFixed(1)));
  }

  #tell() {
    const [left, top, wide, high] = this.#now.map((side) => Math.round(side));
    this.#told.textContent = say("{left} percent from the left, {top} from the top, {wide} wide, {high} high.", { left, top, wide, high });
  }

  #key(event) {
    const way = { ArrowLeft: [-STEP, 0], ArrowRight: [STEP, 0], ArrowUp: [0, -STEP], ArrowDown: [0, STEP] }[event.key];
    if (!way || event.ctrlKey || event.altKey || event.metaKey) return;
    event.preventDefault();
    const [left, top, wide, high] = this.#now;
    if (event.shiftKey) this.#set(left, top, Math.min(wide + way[0], 100 - left), Math.min(high + way[1], 100 - top));
    else this.#set(left + way[0], top + way[1], wide, high);
    this.#tell();
  }

  // A corner changes the size, the box moves; elsewhere a mouse draws anew, and a finger, which must be able to scroll, taps the box there.
  #down(event) {
    if (event.button || this.#drag) return;
    const [x, y] = this.#at(event);
    const [left, top, wide, high] = this.#now;
    const kind = event.target === this.#start ? "start" : event.target === this.#end ? "end" : event.target === this.#box ? "move" : "draw";
    this.#drag = { kind, id: event.pointerId, x, y, left, top, right: left + wide, below: top + high, moved: false };
    if (kind === "draw" && event.pointerType === "touch") this.#drag.kind = "tap";
    else {
      event.preventDefault();
      this.#box.focus({ preventScroll: true });
      this.#stage.setPointerCapture(event.pointerId);
    }
  }

  #move(event) {
    const drag = this.#drag;
    if (drag?.id !== event.pointerId) return;
    const [x, y] = this.#at(event);
    drag.moved ||= Math.abs(x - drag.x) + Math.abs(y - drag.y) > LEAST;
    if (!drag.moved) return;
    if (drag.kind === "move") this.#set(drag.left + x - drag.x, drag.top + y - drag.y, drag.right - drag.left, drag.below - drag.top);
    else if (drag.kind === "start") this.#span(x, y, drag.right, drag.below);
    else if (drag.kind === "end") this.#span(drag.left, drag.top, x, y);
    else if (drag.kind === "draw") this.#span(drag.x, drag.y, x, y);
  }

  #up(event) {
    const drag = this.#drag;
    if (drag?.id !== event.pointerId) return;
    this.#drag = null;
    if (event.type === "pointercancel") return;
    if ((drag.kind === "tap" || drag.kind === "draw") && !drag.moved) {
      const [, , wide, high] = this.#now;
      this.#set(drag.x - wide / 2, drag.y - high / 2, wide, high);
    }
    this.#tell();
  }

  #span(fromX, fromY, toX, toY) {
    this.#set(Math.min(fromX, toX), Math.min(fromY, toY), Math.abs(toX - fromX), Math.abs(toY - fromY));
  }

  /** Where a pointer is, in percent of the picture. */
  #at(event) {
    const box = this.#stage.getBoundingClientRect();
    return [within(((event.clientX - box.left) / box.width) * 100, 0, 100), within(((event.clientY - box.top) / box.height) * 100, 0, 100)];
  }
}

function make(tag, classes) {
  const element = document.createElement(tag);
  element.className = classes;
  return element;
}

function place(element, values) {
  for (const [name, value] of Object.entries(values)) element.style.setProperty(`--${name}`, value);
}

function within(value, least, most) {
  return Math.min(Math.max(value, least), Math.max(least, most));
}

const stage = document.querySelector("[data-stage]");
if (stage) new Rectangle(stage, document.querySelector("[data-rectangle]"));
