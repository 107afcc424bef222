// Choosing pictures in the grid: by arrows and the space bar, all on the way with Shift, all or none; and finding a form in a long list.

import { say } from "../words.js";
import { filter } from "./filtering.js";

const ARROWS = ["ArrowLeft", "ArrowRight", "ArrowUp", "ArrowDown"];

class Grid {
  #boxes;
  #count;
  #last = null;

  constructor(grid) {
    this.#boxes = [...grid.querySelectorAll('input[name="picture"], input[name="offer"]')];
    this.#count = grid.querySelector("[data-count]");
    for (const part of grid.querySelectorAll("[data-scripted]")) part.hidden = false;
    grid.querySelector("[data-all]").addEventListener("click", () => this.#chooseAll(true));
    grid.querySelector("[data-none]").addEventListener("click", () => this.#chooseAll(false));
    grid.addEventListener("keydown", (event) => this.#move(event));
    grid.addEventListener("click", (event) => this.#click(event));
    grid.addEventListener("change", () => this.#tell());
    this.#tell();
  }

  #chooseAll(chosen) {
    for (const box of this.#boxes) box.checked = chosen;
    this.#tell();
  }

  #move(event) {
    const at = this.#boxes.indexOf(event.target);
    if (at < 0 || !ARROWS.includes(event.key) || event.ctrlKey || event.altKey || event.metaKey) return;
    event.preventDefault();
    const to = this.#boxes[this.#neighbour(at, event.key)];
    if (!to) return;
    if (event.shiftKey) this.#chooseBetween(event.target, to);
    to.focus();
  }

  /** The picture beside, or the nearest of the line above or below. */
  #neighbour(at, key) {
    if (key === "ArrowLeft") return at - 1;
    if (key === "ArrowRight") return at + 1;
    const step = key === "ArrowDown" ? 1 : -1;
    const here = this.#place(at);
    let best = -1;
    for (let i = at + step; i >= 0 && i < this.#boxes.length; i += step) {
      const there = this.#place(i);
      const line = best < 0 ? null : this.#place(best).top;
      if (there.top === here.top) continue;
      if (line !== null && there.top !== line) break;
      if (best < 0 || Math.abs(there.left - here.left) < Math.abs(this.#place(best).left - here.left)) best = i;
    }
    return best;
  }

  #place(at) {
    const item = this.#boxes[at].closest("li");
    return { left: item.offsetLeft, top: item.offsetTop };
  }

  #click(event) {
    if (!this.#boxes.includes(event.target)) return;
    if (event.shiftKey && this.#last && event.target.checked) this.#chooseBetween(this.#last, event.target);
    this.#last = event.target;
  }

  #chooseBetween(one, other) {
    const [from, to] = [this.#boxes.indexOf(one), this.#boxes.indexOf(other)].sort((a, b) => a - b);
    for (const box of this.#boxes.slice(from, to + 1)) box.checked = true;
    this.#tell();
  }

  #tell() {
    this.#count.textContent = say("{chosen} of {all} chosen", { chosen: this.#boxes.filter((box) => box.checked).length, all: this.#boxes.length });
  }
}

/** Whoever types rights means them: the tick that says so goes with it, and can be taken back. */
function tickWithRights(part) {
  const tick = part.querySelector('input[name="with_rights"]');
  part.addEventListener("input", (event) => {
    if (event.target.name === "as_files_say") tick.checked &&= !event.target.checked;
    else if (event.target !== tick) tick.checked = true;
  });
}

for (const part of document.querySelectorAll("[data-rights]")) tickWithRights(part);
for (const grid of document.querySelectorAll("[data-grid]")) new Grid(grid);
for (const select of document.querySelectorAll("select[data-filter]")) filter(select);
