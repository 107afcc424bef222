// Sends pictures one by one as soon as they are chosen: each with its own progress and its own sentence, and again only what is lacking.

import { say, sayN } from "../words.js";
import { askKnown, post, sha256 } from "./wire.js";

const AT_ONCE = 2;
const WORDS = {
  waiting: say("Waits"),
  sending: say("Is being sent"),
  looking: say("Is being looked at"),
  kept: say("Sent"),
  already: say("Already there"),
};

class Sending {
  #form;
  #items = [];
  #running = 0;
  #asking = false;

  constructor(form) {
    this.#form = form;
    for (const part of form.querySelectorAll("[data-plain]")) part.hidden = true;
    for (const part of form.querySelectorAll("[data-scripted]")) part.hidden = false;
    for (const input of form.querySelectorAll('input[type="file"]')) {
      input.addEventListener("change", () => {
        this.add(input.files);
        input.value = "";
      });
    }
    this.#undisturbed.addEventListener("change", () => this.#go());
    this.#find("[data-again]").addEventListener("click", () => this.#sendAgain());
    form.addEventListener("submit", (event) => event.preventDefault());
    this.#takeDrops();
    window.addEventListener("beforeunload", (event) => this.#isBusy && event.preventDefault());
  }

  /** Take files in; they are sent once it is ticked that nothing was disturbed. */
  add(files) {
    for (const file of files) {
      const item = new Item(file);
      this.#items.push(item);
      this.#find("[data-files]").append(item.line);
      const most = Number(this.#form.dataset.mostBytes);
      if (file.size > most) item.refuse(say("The file is larger than {most} MB. Save it smaller, as JPEG for instance.", { most: most / 1e6 }));
    }
    this.#go();
  }

  get #undisturbed() {
    return this.#form.elements.undisturbed;
  }

  get #isBusy() {
    return this.#asking || this.#running > 0;
  }

  #find(selector) {
    return this.#form.querySelector(selector);
  }

  #in(...states) {
    return this.#items.filter((item) => states.includes(item.state));
  }

  async #go() {
    this.#tell();
    if (!this.#undisturbed.checked || this.#asking) return;
    this.#asking = true;
    await this.#leaveOutKnown();
    this.#asking = false;
    while (this.#running < AT_ONCE && this.#in("waiting").length) this.#sendNext();
    this.#tell();
  }

  /** What the hall has already need not be sent: after a break, only what is lacking goes over the line. */
  async #leaveOutKnown() {
    for (let fresh = this.#unasked(); fresh.length; fresh = this.#unasked()) {
      for (const item of fresh) item.digest ??= await sha256(item.file);
      const known = await askKnown(this.#form, fresh.map((item) => item.digest).filter(Boolean));
      for (const item of fresh) {
        item.asked = true;
        if (item.digest && known[item.digest]) item.finish("already", known[item.digest]);
      }
    }
  }

  #unasked() {
    return this.#in("waiting").filter((item) => !item.asked);
  }

  async #sendNext() {
    const item = this.#in("waiting")[0];
    this.#running += 1;
    item.show("sending");
    const answer = await post(this.#form, item.file, (share) => item.progress(share));
    this.#running -= 1;
    if (answer.kept) item.finish(answer.already ? "already" : "kept", answer.page);
    else if (answer.again) item.lose(answer.sentence);
    else item.refuse(answer.sentence);
    this.#go();
  }

  #sendAgain() {
    for (const item of this.#in("lost")) {
      item.asked = false;
      item.show("waiting");
    }
    this.#go();
  }

  #tell() {
    const here = this.#in("kept", "already").length, refused = this.#in("refused").length, lost = this.#in("lost").length;
    const none = document.querySelector("p[data-none]");
    if (none) none.hidden = here > 0;
    const parts = [sayN("{here} of {n} picture is here.", "{here} of {n} pictures are here.", this.#items.length, { here })];
    if (refused) parts.push(say("{count} cannot be taken: see why below.", { count: refused }));
    if (lost) parts.push(say("{count} did not arrive.", { count: lost }));
    if (this.#in("waiting").length && !this.#undisturbed.checked) parts.push(say("Tick above that nothing was disturbed, and they are sent."));
    this.#find("[data-told]").textContent = this.#items.length ? parts.join(" ") : "";
    this.#find("[data-again]").hidden = !lost || this.#isBusy;
    this.#find("[data-describe]").hidden = !here || this.#isBusy || this.#in("waiting").length > 0;
  }

  #takeDrops() {
    const holdsFiles = (event) => event.dataTransfer?.types.includes("Files");
    this.#form.addEventListener("dragover", (event) => {
      if (!holdsFiles(event)) return;
      event.preventDefault();
      this.#form.dataset.over = "";
    });
    this.#form.addEventListener("dragleave", () => delete this.#form.dataset.over);
    this.#form.addEventListener("drop", (event) => {
      if (!holdsFiles(event)) return;
      event.preventDefault();
      delete this.#form.dataset.over;
      this.add(event.dataTransfer.files);
    });
  }
}

/** One file on its way, and its line in the list. */
class Item {
  state = "waiting";
  asked = false;
  digest = null;
  line = document.createElement("li");
  #told = document.createElement("span");
  #bar = document.createElement("progress");

  constructor(file) {
    this.file = file;
    const name = document.createElement("b");
    name.textContent = file.name;
    this.#bar.max = 1;
    this.#bar.setAttribute("aria-label", say("How much of {file} is sent", { file: file.name }));
    this.line.append(name, this.#bar, this.#told);
    this.show("waiting");
  }

  show(state, sentence = WORDS[state]) {
    this.state = state;
    this.line.dataset.state = state;
    this.#bar.hidden = state !== "waiting" && state !== "sending";
    if (state === "waiting") this.#bar.value = 0;
    this.#told.textContent = sentence;
  }

  progress(share) {
    this.#bar.value = share;
    this.#told.textContent = share < 1 ? WORDS.sending : WORDS.looking;
  }

  finish(state, page) {
    this.show(state);
    const link = document.createElement("a");
    link.href = page;
    link.textContent = WORDS[state];
    this.#told.replaceChildren(link);
  }

  refuse(sentence) {
    this.show("refused", sentence);
  }

  lose(sentence) {
    this.show("lost", sentence);
  }
}

const form = document.querySelector("[data-sending]");
if (form) new Sending(form);
