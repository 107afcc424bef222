// Plays a drill from its packet: asks, explains at once without the network, keeps each answer, goes on.

import { say } from "../words.js";
import { listen } from "./keys.js";
import { leftToShow, minutesTold } from "./left.js";
import { nodes } from "./markup.js";
import { newId } from "./outbox.js";
import { Pictures } from "./pictures.js";
import { Screen } from "./screen.js";

const NEXT_ASLEEP_MS = 300; // a second, accidental tap must not skip the explanation
const END_WAIT_MS = 4000;
const AGAIN_MS = 3000;
const KEEP_AGAIN_MS = 15000;

const LINE_LOST = say("No connection. Your answers are kept on this device.");
const LINE_BACK = say("The connection is back. Your answers are handed in.");
const NO_ROOM = say("There is no room on this device to keep today's drill, so it needs a connection. It goes on all the same; free some room to drill without one.");
const NO_ROOM_TO_WRITE = say("There is no room on this device to keep your answers. They are sent while there is a connection; do not close this page without one.");

/** Take over the page: fetch the packet, find the first question without an answer, play from there, and keep the drill on the device. */
export async function play(main, outbox, atHand) {
  outbox.send();
  const packet = await fetchPacket(main.dataset.packet);
  const player = new Player(main, packet, outbox, atHand);
  await player.start();
  main.dataset.playing = "";
  await player.keep(main.dataset.packet);
}

async function fetchPacket(url) {
  for (;;) {
    const response = await fetch(url, { credentials: "same-origin", headers: { Accept: "application/json" } }).catch(() => null);
    if (response?.ok) return response.json();
    // The page that the hall rendered works meanwhile, answer by answer.
    await pause(AGAIN_MS);
  }
}

class Player {
  #screen;
  #outbox;
  #atHand;
  #packet;
  #pictures = new Pictures((address) => this.#withdraw(this.#picturesAt(address)));
  #steps;
  #given = new Map(); // question → what was said
  #met = new Set();
  #gone;
  #step = null;
  #told = new Map();
  #ahead = new Map(); // showing → promise of its picture, decoded
  #shownAt = 0;
  #toldAt = 0;
  #hint = false;
  #waiting = 0;

  constructor(main, packet, outbox, atHand) {
    this.#screen = new Screen(main);
    this.#outbox = outbox;
    this.#atHand = atHand;
    this.#packet = packet;
    this.#gone = new Set(packet.withdrawn);
    this.#steps = packet.rounds.flatMap((round) =>
      round.showings.flatMap((showing) => showing.asks.map((ask) => ({ round, showing, ask, key: keyOf(showing.showing, ask.place) }))),
    );
    main.addEventListener("submit", (event) => this.#submitted(event));
    this.#hearClicks(main);
    outbox.addEventListener("state", (event) => this.#sent(event.detail));
    outbox.addEventListener("refused", (event) => this.#screen.notice(event.detail.map((one) => one.why).join(" ")));
    outbox.addEventListener("withdrawn", (event) => this.#withdraw(event.detail));
    outbox.addEventListener("full", () => this.#screen.notice(NO_ROOM_TO_WRITE));
    if (packet.letter_keys) listen(main, { always: packet.single_keys });
  }

  async start() {
    for (const { showing, ask, key } of this.#steps) if (showing.given[ask.place]) this.#given.set(key, showing.given[ask.place].said);
    // What this device knows of has been given too: the hall may not have it yet, or may have had it after the packet was made.
    const asked = new Set(this.#steps.map(({ key }) => key));
    await this.#outbox.forget(({ showing, ask }) => this.#given.has(keyOf(showing, ask)) || !asked.has(keyOf(showing, ask)));
    for (const answer of await this.#outbox.given()) this.#keep(keyOf(answer.showing, answer.ask), answer.said);
    const open = this.#steps.filter(({ round, key }) => !this.#given.has(key) && !this.#isGone(round));
    for (const spare of [false, true]) {
      this.#pictures.want(open.filter(({ round }) => round.spare === spare).flatMap(({ showing }) => [...picturesOf(showing).map(({ url }) => url), ...showing.beside]));
    }
    const { showing, ask } = this.#screen.holds;
    if (this.#screen.find("[data-panel=answered]")) this.#step = this.#steps.find(({ key }) => key === keyOf(showing, ask)) ?? null;
    else await this.#goOn();
  }

  /** Keep the drill on this device, to be opened again without a connection; try again where the connection breaks off. */
  async keep(packetUrl) {
    for (;;) {
      await this.#atHand.drop([...this.#gone]);
      const open = this.#packet.rounds.filter((round) => !this.#isGone(round)).flatMap((round) => round.showings.filter((one) => !this.#isGiven(one)));
      const why = await this.#atHand.keep(this.#packet, packetUrl, open, () => this.#pictures.settled());
      if (why === "full") this.#screen.notice(NO_ROOM);
      if (why !== "offline") break;
      await pause(KEEP_AGAIN_MS);
    }
    document.querySelector("[data-drill]").dataset.atHand = "";
  }

  // Of an answer given twice the first counts.
  #keep(key, said) {
    if (!this.#given.has(key)) this.#given.set(key, said);
  }

  /** Return the questions still to be asked, as things stand. */
  #left() {
    const played = this.#packet.rounds.filter((round) => !this.#isGone(round));
    const left = leftToShow(played, (showing, ask) => this.#given.get(keyOf(showing.showing, ask.place)));
    return this.#steps.filter(({ showing, key }) => left.has(showing) && !this.#given.has(key));
  }

  #isGiven(showing) {
    return showing.asks.every((ask) => this.#given.has(keyOf(showing.showing, ask.place)));
  }

  // A round with a picture that is withdrawn before it is played is left out; it is not counted as missed.
  #isGone(round) {
    return round.showings.some((showing) => this.#lacks(showing) && !this.#isGiven(showing));
  }

  #lacks(showing) {
    return picturesOf(showing).some(({ id }) => this.#gone.has(id));
  }

  async #goOn() {
    const step = this.#left()[0];
    if (!step) return this.#finish();
    const begun = this.#steps.some(({ round, key }) => round === step.round && this.#given.has(key));
    const isHere = this.#screen.holds.showing === step.showing.showing;
    const meets = step.round.meet_html && !begun && !isHere && !this.#met.has(step.round);
    return meets ? this.#meet(step) : this.#ask(step);
  }

  #meet(step) {
    const page = this.#screen.find("[data-meet]");
    const isFirst = this.#step === null;
    if (!isFirst || page.hidden) {
      const met = this.#hearClicks(nodes(step.round.meet_html));
      this.#pictures.localise(met);
      page.replaceChildren(met);
    }
    this.#screen.turnTo("[data-meet]", say("Meet the pair"));
    if (!isFirst) page.querySelector("[data-met-title]")?.focus({ preventScroll: true });
    this.#step = step;
  }

  async #ask(step) {
    const holds = this.#screen.holds;
    const isHere = holds.showing === step.showing.showing && holds.image;
    const image = isHere ? null : await this.#decoded(step);
    if (isHere) await holds.image.decode?.().catch(() => null);
    if (image === undefined) return this.#goOn();
    const isFirst = this.#step === null;
    // The page that the hall rendered may ask this very question already: it stays, so that nothing flickers.
    const stays = isFirst && isHere && holds.ask === step.ask.place;
    this.#screen.ask(step, image, stays ? null : this.#hearClicks(nodes(step.ask.question_html)));
    this.#hint = Boolean(stays && this.#screen.find("[name=hint]"));
    this.#step = step;
    this.#progress();
    this.#prepare(step);
    if (!isFirst) this.#screen.focusPanel();
    this.#shownAt = performance.now();
    return undefined;
  }

  /** Return the step's picture, or both of them, or undefined where one is withdrawn. Waits for a connection as long as it takes. */
  async #decoded({ showing }) {
    const ready = await this.#ahead.get(showing)?.catch(() => null);
    this.#ahead.clear();
    if (ready) return ready;
    const began = performance.now();
    const image = await this.#awaited(showing);
    performance.measure("picture awaited", { start: began, end: performance.now() });
    return image;
  }

  async #awaited(showing) {
    const { picture, second, two_html } = showing;
    for (;;) {
      try {
        return await (second ? this.#pictures.both([picture, second], two_html) : this.#pictures.decoded(picture, picture.alt));
      } catch (error) {
        if (error.status) {
          this.#withdraw([(error.picture ?? picture).id]);
          return undefined;
        }
        this.#screen.progress(say("Waiting for the picture"));
        await pause(AGAIN_MS);
      }
    }
  }

  // What may be said in answer is made ready while she looks, so that the tap has little left to do.
  #prepare({ showing, ask }) {
    this.#told = new Map(Object.entries(ask.feedback_html).map(([said, html]) => [said, this.#hearClicks(nodes(html))]));
    for (const address of showing.beside) new Image().src = this.#pictures.local(address);
    this.#decodeAhead(showing);
  }

  // What comes next depends on the answer: the next of this round, or the first of the round after.
  #decodeAhead(shown) {
    const left = this.#left().filter(({ showing }) => showing !== shown);
    const round = this.#step.round;
    const next = [left.find((step) => step.round === round), left.find((step) => step.round !== round)];
    for (const { showing } of next.filter(Boolean)) {
      if (!showing.second && !this.#ahead.has(showing)) this.#ahead.set(showing, this.#pictures.decoded(showing.picture, showing.picture.alt));
      this.#ahead.get(showing)?.catch(() => {});
    }
  }

  #submitted(event) {
    const panel = event.target.closest("[data-panel]");
    if (!panel) return;
    event.preventDefault();
    if (panel.dataset.panel === "answered") this.#leave();
    else if (event.submitter?.name === "answer") this.#answer(event.submitter.value, event.timeStamp);
  }

  #answer(value, tappedAt) {
    const { showing, ask, key } = this.#step;
    if (this.#given.has(key)) return;
    const colon = value.lastIndexOf(":");
    const [said, sure] = [value.slice(0, colon), value.slice(colon + 1)];
    const seconds = Math.max(0, Math.round(tappedAt - this.#shownAt)) / 1000;
    const at = new Date().toISOString();
    this.#keep(key, said);
    this.#outbox.put({ id: newId(), showing: showing.showing, ask: ask.place, said, sure: sure || null, seconds, hint: this.#hint, at });
    const panel = this.#told.get(said);
    for (const slot of panel.querySelectorAll("[data-sure]")) slot.textContent = this.#packet.words[sure] ?? sure;
    this.#pictures.localise(panel);
    this.#sayNext(panel, this.#step);
    this.#screen.tell(panel, ask.told);
    this.#toldAt = performance.now();
    requestAnimationFrame(() => performance.measure("tap to feedback", { start: tappedAt, end: performance.now() }));
  }

  #sayNext(panel, { showing, ask }) {
    if (ask !== showing.asks.at(-1)) return;
    const { next_picture, how_it_went } = this.#packet.words;
    panel.querySelector("[data-next]").textContent = this.#left().length ? next_picture : how_it_went;
  }

  #leave() {
    if (performance.now() - this.#toldAt < NEXT_ASLEEP_MS) return;
    this.#toldAt = Infinity; // one tap, one step, also while the next picture is on its way
    this.#goOn();
  }

  /** Hear what is tapped in a part of the page, which is returned. One ear for all of it would do, but then screen readers call everything in it clickable. */
  #hearClicks(part) {
    for (const one of part.querySelectorAll("a[href]:not([data-enlarge]), [data-hand-in]")) one.addEventListener("click", (event) => this.#clicked(event));
    return part;
  }

  #clicked(event) {
    const target = event.currentTarget;
    if (!target.matches("[data-hint], [data-begin], [data-hand-in], [data-see-whole]")) {
      // Without a connection a link would lead to the browser's own page of errors, and look like a loss.
      if (navigator.onLine || navigator.serviceWorker?.controller) return;
      event.preventDefault();
      this.#screen.notice(say("There is no connection, so that page cannot be shown. What you answered is kept on this device; go on drilling here, or close the page."));
      return;
    }
    event.preventDefault();
    if (target.matches("[data-hand-in]")) this.#finish();
    else if (target.matches("[data-begin]")) this.#begin();
    else if (target.matches("[data-see-whole]")) this.#screen.seeWhole(target);
    else {
      this.#hint = true;
      this.#screen.hint(this.#step.ask.hint);
    }
  }

  #begin() {
    this.#met.add(this.#step.round);
    this.#goOn();
  }

  #progress() {
    const shown = this.#packet.rounds.flatMap((round) => round.showings).filter((showing) => this.#isGiven(showing) && showing !== this.#step.showing);
    const left = new Set(this.#left().map(({ showing }) => showing)).add(this.#step.showing);
    const minutes = minutesTold(left.size, this.#packet.seconds_a_showing);
    const values = { number: shown.length + 1, waiting: this.#waiting, minutes };
    this.#screen.progress(this.#waiting ? say("Picture {number}, {waiting} kept here", values) : say("Picture {number}, {minutes} min left", values));
  }

  #sent({ waiting, why }) {
    const wasLost = this.#waiting > 0;
    this.#waiting = why ? waiting : 0;
    if (this.#waiting) this.#screen.line(why === "signed out" ? "" : LINE_LOST);
    else if (wasLost && !waiting) this.#screen.line(LINE_BACK);
    if (why === "signed out") {
      // What she has answered stays hers; the drill itself is not left to whoever finds the device.
      this.#atHand.forget();
      this.#screen.notice(say("You are signed out. What you answer is kept on this device for you; sign in again and it is handed in."));
    }
    if (this.#step && this.#screen.shows("[data-play]")) this.#progress();
    if (!this.#screen.shows("[data-kept]")) return;
    if (waiting) this.#screen.kept(waiting);
    else this.#end();
  }

  #picturesAt(address) {
    return this.#steps.flatMap(({ showing }) => picturesOf(showing).filter(({ url }) => url === address).map(({ id }) => id));
  }

  #withdraw(pictures) {
    for (const id of pictures) this.#gone.add(id);
    const gone = this.#steps.flatMap(({ showing }) => picturesOf(showing).filter(({ id }) => this.#gone.has(id)));
    this.#pictures.drop(gone.map(({ url }) => url));
    this.#atHand.drop(pictures);
  }

  async #finish() {
    await Promise.race([this.#outbox.send(), pause(END_WAIT_MS)]);
    const waiting = (await this.#outbox.list()).length;
    if (!waiting) return this.#end();
    this.#screen.kept(waiting);
    return this.#screen.turnTo("[data-kept]", say("Answers kept"));
  }

  #end() {
    window.location.assign(this.#packet.end_url);
  }
}

function picturesOf({ picture, second }) {
  return second ? [picture, second] : [picture];
}

function keyOf(showing, place) {
  return `${showing}:${place}`;
}

function pause(ms) {
  return new Promise((resolve) => setTimeout(resolve, ms));
}
