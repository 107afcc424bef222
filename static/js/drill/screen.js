// The drill's page as the player sees it: its picture, its panel, its words, and which part of it is in view.

import { say, sayN } from "../words.js";
import { nodes } from "./markup.js";
import { Zoom } from "./zoom.js";

const DIM = "drillhall dim";

export class Screen {
  #main;
  #zoom;

  constructor(main) {
    this.#main = main;
    this.#zoom = new Zoom(this.find("[data-picture]"), this.find("[data-enlarge]"));
    main.addEventListener("change", (event) => event.target.id === "dim" && this.#dim(event.target.checked));
    this.keepDim();
  }

  find(selector) {
    return this.#main.querySelector(selector);
  }

  get panel() {
    return this.find("[data-play] .panel");
  }

  /** Return showing and question that the page holds already, as the hall rendered it or as they were put here. */
  get holds() {
    const { showing, ask } = this.find("[data-picture]").dataset;
    return { showing: Number(showing ?? NaN), ask: Number(ask ?? NaN), image: this.#shown };
  }

  /** Put a question up: its picture, unless the page holds it already, and its panel, unless null. */
  ask({ showing, ask }, image, panel) {
    const box = this.find("[data-picture]");
    if (image) box.replaceChildren(image);
    if (!showing.second) this.#say(showing.picture.alt);
    if (panel) {
      this.marks("");
      this.panel.replaceWith(panel);
    }
    box.dataset.showing = showing.showing;
    box.dataset.ask = ask.place;
    this.find("[data-enlarge]").href = showing.picture.url;
    this.#zoom.reset();
    this.keepDim();
    this.turnTo("[data-play]", say("Drill"));
    this.status("");
  }

  /** Put an explanation in the place of its question; the picture stays where it is and tells what it shows. */
  tell(panel, { alt, marks_html }) {
    const words = [...panel.querySelectorAll("[data-told]")].map((line) => line.textContent.trim()).join(". ");
    this.panel.replaceWith(panel);
    this.#say(alt);
    this.marks(marks_html);
    this.find("[data-next]").focus({ preventScroll: true });
    this.status(words);
  }

  // The picture is an image, or a drawing that holds one: with a frame, or a ring round one of several; or two of these together.
  get #shown() {
    return this.find("[data-picture] > :is(img, .drawn, .abreast)");
  }

  #say(alt) {
    const shown = this.#shown;
    if (shown.matches("img")) shown.alt = alt;
    else shown.setAttribute("aria-label", alt);
  }

  /** Open a frame up to the whole picture, or close it again. */
  seeWhole(link) {
    const opens = this.#shown.getAttribute("viewBox") !== link.dataset.whole;
    const box = opens ? link.dataset.whole : link.dataset.part;
    for (const drawing of this.find("[data-picture]").querySelectorAll(".drawn, .frame, .marks")) drawing.setAttribute("viewBox", box);
    const frame = this.find("[data-picture] .frame");
    box.split(" ").forEach((number, place) => frame.setAttribute(["x", "y", "width", "height"][place], number));
    link.textContent = opens ? say("Back to the part") : say("See the whole picture");
    this.#zoom.reset();
    this.status(opens ? say("The whole picture is shown.") : say("The part is shown."));
  }

  /** Show where to look, in words and on the picture. */
  hint({ words, marks_html }) {
    this.find("[data-line]").textContent = words;
    this.marks(marks_html);
    this.status(words);
    this.find("[data-hint]").hidden = true;
    this.focusPanel();
  }

  /** Bring one part of the page into view, and only that. */
  turnTo(part, title) {
    for (const one of this.#main.querySelectorAll("[data-play], [data-meet], [data-kept]")) one.hidden = !one.matches(part);
    document.title = `${title} - drillhall`;
    window.scrollTo(0, 0);
  }

  shows(part) {
    return !this.find(part).hidden;
  }

  focusPanel() {
    this.panel.focus({ preventScroll: true });
  }

  marks(html) {
    this.find("[data-picture] .marks")?.remove();
    if (!html) return;
    this.find("[data-picture]").append(nodes(html));
    if (this.#shown.matches(".drawn")) this.find("[data-picture] .marks").setAttribute("viewBox", this.#shown.getAttribute("viewBox"));
  }

  progress(words) {
    this.find("[data-progress]").textContent = words;
  }

  /** Say something to whoever listens rather than looks; the live region was in the page before. */
  status(words) {
    this.find("[data-status]").textContent = words;
  }

  /** Say once that the line is lost, and once that it is back; in a place of its own, for an explanation may be being read. */
  line(words) {
    const place = this.find("[data-line-status]");
    if (place.textContent !== words) place.textContent = words;
  }

  notice(words) {
    this.find("[data-notice]").hidden = false;
    this.find("[data-notice-words]").textContent = words;
  }

  kept(waiting) {
    this.find("[data-kept-count]").textContent = sayN("{n} answer is", "{n} answers are", waiting);
  }

  /** The box to tick comes and goes with each question; what was chosen stays. */
  keepDim() {
    const on = localStorage.getItem(DIM) === "yes";
    this.find("[data-play]").classList.toggle("dimmed", on);
    const box = this.find("#dim");
    if (box) box.checked = on;
  }

  #dim(on) {
    localStorage.setItem(DIM, on ? "yes" : "");
    this.keepDim();
  }
}
