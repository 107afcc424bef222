// Plays a drill from its packet: asks, explains at once without the network, keeps each answer, goes on.

import { listen } from "./keys.js";
import { nodes } from "./markup.js";
import { newId } from "./outbox.js";
import { Pictures } from "./pictures.js";
import { Zoom } from "./zoom.js";

const NEXT_ASLEEP_MS = 300; // a second, accidental tap must not skip the explanation
const END_WAIT_MS = 4000;
const AGAIN_MS = 3000;

/** Take over the page: fetch the packet, find the first question without an answer, play from there. */
export async function play(main, outbox) {
  outbox.send();
  const packet = await fetchPacket(main.dataset.packet);
  const player = new Player(main, packet, outbox);
  await player.start();
}

async function fetchPacket(url) {
  for (;;) {
    const response = await fetch(url, { credentials: "same-origin", headers: { Accept: "application/json" } }).catch(() => null);
    if (response?.ok) return response.json();
    // The page that the hall rendered works meanwhile, answer by answer.
    await new Promise((resolve) => setTimeout(resolve, AGAIN_MS));
  }
}

class Player {
  #main;
  #outbox;
  #packet;
  #pictures = new Pictures();
  #steps;
  #given = new Set();
  #met = new Set();
  #gone;
  #zoom;
  #step = null;
  #shownAt = 0;
  #toldAt = 0;
  #hint = false;
  #answers = new Map();
  #waiting = 0;

  constructor(main, packet, outbox) {
    this.#main = main;
    this.#outbox = outbox;
    this.#packet = packet;
    this.#gone = new Set(packet.withdrawn);
    this.#steps = packet.rounds.flatMap((round) =>
      round.showings.flatMap((showing) => showing.asks.map((ask) => ({ round, showing, ask, key: keyOf(showing.showing, ask.place) }))),
    );
  }

  async start() {
    this.#listen();
    for (const { showing, ask, key } of this.#steps) if (showing.given[ask.place]) this.#given.add(key);
    for (const answer of await this.#outbox.list()) this.#given.add(keyOf(answer.showing, answer.ask));
    this.#zoom = new Zoom(this.#find("[data-picture]"), this.#find("[data-enlarge]"));
    listen(this.#main, { always: this.#packet.single_keys });
    this.#prefetch();
    this.#keepDim();
    if (this.#find("[data-panel=answered]")) this.#adoptTold();
    else await this.#goOn();
    this.#main.dataset.playing = "";
  }

  #find(selector) {
    return this.#main.querySelector(selector);
  }

  #listen() {
    this.#main.addEventListener("submit", (event) => this.#submitted(event));
    this.#main.addEventListener("click", (event) => this.#clicked(event));
    this.#main.addEventListener("change", (event) => event.target.id === "dim" && this.#dim(event.target.checked));
    this.#outbox.addEventListener("state", (event) => this.#sent(event.detail));
    this.#outbox.addEventListener("refused", (event) => this.#notice(event.detail.map((one) => one.why).join(" ")));
    this.#outbox.addEventListener("withdrawn", (event) => this.#withdraw(event.detail));
  }

  #prefetch() {
    const left = this.#steps.filter((step) => !this.#given.has(step.key) && !this.#isGone(step.round));
    this.#pictures.want(left.flatMap(({ showing }) => [showing.picture.url, ...showing.beside]));
  }

  // The page came with an answer explained already; only its button changes hands.
  #adoptTold() {
    const { showing, ask } = this.#find("[data-picture]").dataset;
    this.#step = this.#steps.find((step) => step.key === keyOf(showing, ask)) ?? null;
  }

  #next() {
    return this.#steps.find((step) => !this.#given.has(step.key) && !this.#isGone(step.round));
  }

  // A round whose picture is withdrawn before the round was begun is left out; it is not counted as missed.
  #isGone(round) {
    return round.showings.some((showing) => this.#gone.has(showing.picture.id));
  }

  async #goOn() {
    const step = this.#next();
    if (!step) return this.#finish();
    const begun = step.round.showings.some((showing) => showing.asks.some((ask) => this.#given.has(keyOf(showing.showing, ask.place))));
    if (step.round.meet_html && !begun && !this.#met.has(step.round.round)) return this.#meet(step);
    return this.#ask(step);
  }

  #meet(step) {
    const page = this.#find("[data-meet]");
    if (page.dataset.round !== String(step.round.round)) {
      const met = nodes(step.round.meet_html);
      this.#pictures.localise(met);
      page.replaceChildren(met);
      page.dataset.round = step.round.round;
    }
    this.#turnTo(page);
    document.title = "Meet the pair - drillhall";
    if (this.#step) page.querySelector("[data-met-title]")?.focus({ preventScroll: true });
    this.#step = step;
  }

  async #ask(step) {
    const box = this.#find("[data-picture]");
    const here = box.dataset.showing === String(step.showing.showing) && box.querySelector("img");
    let image = null;
    if (here) await here.decode().catch(() => null);
    else image = await this.#decoded(step);
    if (image === undefined) return this.#goOn();
    const first = this.#step === null;
    this.#show(step, image, { quiet: first && Boolean(here) });
    if (!first) this.#find(".panel").focus({ preventScroll: true });
    return undefined;
  }

  /** Return the step's picture; undefined once it turns out to be withdrawn. Waits for a connection as long as it takes. */
  async #decoded(step) {
    for (;;) {
      try {
        return await this.#pictures.decoded(step.showing.picture, step.showing.picture.alt);
      } catch (error) {
        if (error.status) {
          this.#withdraw([step.showing.picture.id]);
          return undefined;
        }
        this.#progress("Waiting for the picture");
        await new Promise((resolve) => setTimeout(resolve, AGAIN_MS));
      }
    }
  }

  #show(step, image, { quiet }) {
    const box = this.#find("[data-picture]");
    const panel = this.#find("[data-play] .panel");
    if (image) box.replaceChildren(image);
    else this.#marks("");
    box.querySelector("img").alt = step.showing.picture.alt;
    box.dataset.showing = step.showing.showing;
    box.dataset.ask = step.ask.place;
    // The page that the hall rendered may ask this very question already: it stays, so that nothing flickers.
    const same = quiet && panel.querySelector(`[name=showing][value="${step.showing.showing}"]`) && panel.querySelector(`[name=ask][value="${step.ask.place}"]`);
    if (!same) panel.replaceWith(nodes(step.ask.question_html));
    this.#hint = Boolean(same && panel.querySelector("[name=hint]"));
    this.#step = step;
    this.#zoom.reset();
    this.#keepDim();
    this.#progress();
    this.#turnTo(this.#find("[data-play]"));
    document.title = "Drill - drillhall";
    this.#find("[data-enlarge]").href = step.showing.picture.url;
    this.#status("");
    this.#prepare(step);
    this.#shownAt = performance.now();
  }

  // What may be said in answer is made ready while she looks, so that the tap has little left to do.
  #prepare(step) {
    this.#answers = new Map(Object.entries(step.ask.feedback_html).map(([said, html]) => [said, nodes(html)]));
    for (const address of step.showing.beside) new Image().src = this.#pictures.local(address);
  }

  #submitted(event) {
    const panel = event.target.closest("[data-panel]");
    if (!panel) return;
    event.preventDefault();
    if (panel.dataset.panel === "answered") this.#leave();
    else if (event.submitter?.name === "answer") this.#answer(event.submitter.value, event.timeStamp);
  }

  #answer(value, tappedAt) {
    if (this.#given.has(this.#step.key)) return;
    const colon = value.lastIndexOf(":");
    const [said, sure] = [value.slice(0, colon), value.slice(colon + 1)];
    const { showing, ask, key } = this.#step;
    const seconds = Math.max(0, Math.round(tappedAt - this.#shownAt) / 1000);
    this.#given.add(key);
    this.#outbox.put({
      id: newId(),
      showing: showing.showing,
      ask: ask.place,
      said,
      sure: sure || null,
      seconds,
      hint: this.#hint,
      at: new Date().toISOString(),
    });
    this.#tell(said, sure);
    requestAnimationFrame(() => performance.measure("tap to feedback", { start: tappedAt, end: performance.now() }));
  }

  #tell(said, sure) {
    const { ask } = this.#step;
    const told = this.#answers.get(said);
    for (const slot of told.querySelectorAll("[data-sure]")) slot.textContent = sure;
    this.#pictures.localise(told);
    const words = [...told.querySelectorAll("[data-told]")].map((line) => line.textContent.trim()).join(". ");
    this.#find("[data-play] .panel").replaceWith(told);
    this.#find("[data-picture] img").alt = ask.told.alt;
    this.#marks(ask.told.marks_html);
    this.#toldAt = performance.now();
    this.#find("[data-next]").focus({ preventScroll: true });
    this.#status(words);
  }

  #leave() {
    if (performance.now() - this.#toldAt < NEXT_ASLEEP_MS) return;
    this.#toldAt = Infinity; // one tap, one step, also while the next picture is on its way
    this.#goOn();
  }

  #clicked(event) {
    const target = event.target.closest("[data-hint], [data-begin], [data-hand-in]");
    if (!target) return;
    event.preventDefault();
    if (target.matches("[data-hint]")) this.#showHint(target);
    else if (target.matches("[data-begin]")) this.#begin();
    else this.#finish();
  }

  #showHint(link) {
    const { hint } = this.#step.ask;
    if (!hint) return;
    this.#hint = true;
    this.#find("[data-line]").textContent = hint.words;
    this.#marks(hint.marks_html);
    this.#status(hint.words);
    link.hidden = true;
    this.#find(".panel").focus({ preventScroll: true });
  }

  #begin() {
    const step = this.#next();
    this.#met.add(step.round.round);
    this.#step ??= step;
    this.#goOn();
  }

  #marks(html) {
    const box = this.#find("[data-picture]");
    box.querySelector(".marks")?.remove();
    if (html) box.append(nodes(html));
  }

  #status(words) {
    this.#find("[data-status]").textContent = words;
  }

  #progress(instead) {
    const showing = this.#step?.showing;
    const time = this.#waiting ? `${this.#waiting} kept here` : `${showing?.minutes_left} min left`;
    this.#find("[data-progress]").textContent = instead ?? `Picture ${showing?.number}, ${time}`;
  }

  #turnTo(page) {
    for (const one of this.#main.querySelectorAll("[data-play], [data-meet], [data-kept]")) one.hidden = one !== page;
    window.scrollTo(0, 0);
  }

  #sent({ waiting, why }) {
    this.#waiting = why ? waiting : 0;
    this.#main.dataset.waiting = waiting;
    if (why === "signed out") this.#notice("You are signed out. What you answer is kept on this device for you; sign in again and it is handed in.");
    if (this.#step && !this.#find("[data-play]").hidden) this.#progress();
    if (this.#find("[data-kept]").hidden) return;
    if (waiting) this.#countKept(waiting);
    else this.#end();
  }

  #withdraw(pictures) {
    for (const id of pictures) this.#gone.add(id);
    const gone = this.#steps.filter(({ showing }) => this.#gone.has(showing.picture.id));
    this.#pictures.drop(gone.map(({ showing }) => showing.picture.url));
  }

  #notice(words) {
    this.#find("[data-notice]").hidden = false;
    this.#find("[data-notice-words]").textContent = words;
  }

  async #finish() {
    const late = new Promise((resolve) => setTimeout(resolve, END_WAIT_MS));
    await Promise.race([this.#outbox.send(), late]);
    const waiting = (await this.#outbox.list()).length;
    if (!waiting) return this.#end();
    this.#countKept(waiting);
    return this.#turnTo(this.#find("[data-kept]"));
  }

  #end() {
    window.location.assign(this.#packet.end_url);
  }

  #countKept(waiting) {
    this.#find("[data-kept-count]").textContent = waiting === 1 ? "1 answer is" : `${waiting} answers are`;
  }

  #dim(on) {
    localStorage.setItem("drillhall dim", on ? "yes" : "");
    this.#keepDim();
  }

  // The box to tick comes and goes with each question; what was chosen stays.
  #keepDim() {
    const on = localStorage.getItem("drillhall dim") === "yes";
    this.#find("[data-play]").classList.toggle("dimmed", on);
    const box = this.#find("#dim");
    if (box) box.checked = on;
  }
}

function keyOf(showing, place) {
  return `${showing}:${place}`;
}
