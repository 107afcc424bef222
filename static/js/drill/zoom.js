// Enlarges the picture where it stands: by pinch, wheel, key, tap or button. Marks go with it.

import { say } from "../words.js";

const MOST = 6;
const STEP = 1.5;
const TAP = 2.5;
const MOVED_PX = 6;

export class Zoom {
  #box;
  #button;
  #words;
  #scale = 1;
  #x = 0;
  #y = 0;
  #fingers = new Map();
  #moved = false;

  constructor(box, button) {
    this.#box = box;
    this.#button = button;
    this.#words = button.textContent;
    box.dataset.zooms = "";
    box.tabIndex = 0;
    box.setAttribute("role", "group");
    box.setAttribute("aria-label", say("Picture. Plus and minus enlarge it, arrows move it."));
    button.setAttribute("role", "button");
    button.addEventListener("click", (event) => this.#toggle(event));
    button.addEventListener("keydown", (event) => event.key === " " && this.#toggle(event));
    box.addEventListener("keydown", (event) => this.#key(event));
    box.addEventListener("wheel", (event) => this.#wheel(event), { passive: false });
    box.addEventListener("pointerdown", (event) => this.#down(event));
    box.addEventListener("pointermove", (event) => this.#move(event));
    for (const name of ["pointerup", "pointercancel"]) box.addEventListener(name, (event) => this.#up(event));
  }

  /** Show the picture whole again. */
  reset() {
    this.#set(1, 0, 0);
  }

  #toggle(event) {
    event.preventDefault();
    if (this.#scale > 1) this.reset();
    else this.#about(TAP, ...this.#middle());
  }

  #middle() {
    return [this.#box.clientWidth / 2, this.#box.clientHeight / 2];
  }

  #key(event) {
    if (event.ctrlKey || event.altKey || event.metaKey || event.target !== this.#box) return;
    const step = this.#box.clientWidth / 8;
    const acts = {
      "+": () => this.#about(this.#scale * STEP, ...this.#middle()),
      "=": () => this.#about(this.#scale * STEP, ...this.#middle()),
      "-": () => this.#about(this.#scale / STEP, ...this.#middle()),
      0: () => this.reset(),
      Escape: () => this.reset(),
    };
    const moves = { ArrowLeft: [step, 0], ArrowRight: [-step, 0], ArrowUp: [0, step], ArrowDown: [0, -step] };
    if (acts[event.key]) acts[event.key]();
    else if (moves[event.key] && this.#scale > 1) this.#shift(...moves[event.key]);
    else return;
    event.preventDefault();
  }

  #wheel(event) {
    event.preventDefault();
    this.#about(this.#scale * Math.exp(-event.deltaY / 300), ...this.#place(event));
  }

  #down(event) {
    if (event.button) return;
    if (!this.#fingers.size) this.#moved = false;
    this.#fingers.set(event.pointerId, { x: event.clientX, y: event.clientY, fromX: event.clientX, fromY: event.clientY });
    if (this.#fingers.size > 1) this.#moved = true;
    this.#box.setPointerCapture(event.pointerId);
  }

  #move(event) {
    const finger = this.#fingers.get(event.pointerId);
    if (!finger) return;
    const other = [...this.#fingers.entries()].find(([id]) => id !== event.pointerId)?.[1];
    if (other) {
      const before = Math.hypot(finger.x - other.x, finger.y - other.y);
      const now = Math.hypot(event.clientX - other.x, event.clientY - other.y);
      const middle = { clientX: (event.clientX + other.x) / 2, clientY: (event.clientY + other.y) / 2 };
      if (before > 0) this.#about((this.#scale * now) / before, ...this.#place(middle));
    } else {
      if (Math.hypot(event.clientX - finger.fromX, event.clientY - finger.fromY) > MOVED_PX) this.#moved = true;
      if (this.#moved && this.#scale > 1) this.#shift(event.clientX - finger.x, event.clientY - finger.y);
    }
    finger.x = event.clientX;
    finger.y = event.clientY;
  }

  // A tap is the way without dragging: it enlarges there, and once enlarged it brings that place to the middle.
  #up(event) {
    const tapped = this.#fingers.delete(event.pointerId) && !this.#fingers.size && !this.#moved && event.type === "pointerup";
    if (!tapped) return;
    const [x, y] = this.#place(event);
    if (this.#scale === 1) this.#about(TAP, x, y);
    else this.#shift(this.#box.clientWidth / 2 - x, this.#box.clientHeight / 2 - y);
  }

  #place(event) {
    const box = this.#box.getBoundingClientRect();
    return [event.clientX - box.left, event.clientY - box.top];
  }

  /** Scale so that what lies at a place of the box stays there. */
  #about(scale, x, y) {
    const next = Math.min(Math.max(scale, 1), MOST);
    const by = next / this.#scale;
    this.#set(next, x - (x - this.#x) * by, y - (y - this.#y) * by);
  }

  #shift(dx, dy) {
    this.#set(this.#scale, this.#x + dx, this.#y + dy);
  }

  #set(scale, x, y) {
    this.#scale = scale < 1.01 ? 1 : scale;
    this.#x = Math.min(0, Math.max(x, this.#box.clientWidth * (1 - this.#scale)));
    this.#y = Math.min(0, Math.max(y, this.#box.clientHeight * (1 - this.#scale)));
    this.#box.style.setProperty("--zoom", this.#scale);
    this.#box.style.setProperty("--zoom-x", `${this.#x}px`);
    this.#box.style.setProperty("--zoom-y", `${this.#y}px`);
    this.#box.toggleAttribute("data-zoomed", this.#scale > 1);
    this.#button.textContent = this.#scale > 1 ? say("Whole") : this.#words;
  }
}
