// Fetches the drill's pictures ahead of the learner and keeps them in memory, so that a lost connection stops nothing.

import { nodes } from "./markup.js";

const AT_ONCE = 2;
const WAIT_LONGEST_MS = 30000;

export class Pictures {
  #kept = new Map(); // address → address in memory
  #asked = new Map(); // address → promise of it
  #line = [];
  #busy = 0;
  #wait_ms = 1000;
  #whenGone;

  /** `whenGone` is told the address of each picture that the hall no longer gives her. */
  constructor(whenGone) {
    this.#whenGone = whenGone;
  }

  /** Line up addresses to fetch, the first the soonest. */
  want(addresses) {
    this.#line.push(...addresses.filter((address) => !this.#asked.has(address) && !this.#line.includes(address)));
    this.#pull();
  }

  /** Resolve once nothing is left to fetch. */
  async settled() {
    while (this.#busy || this.#line.length) await new Promise((resolve) => setTimeout(resolve, 100));
  }

  /** Return where a picture lies in memory, or its own address while it is not there. */
  local(address) {
    return this.#kept.get(address) ?? address;
  }

  /** Let everything in new markup that shows a picture kept in memory read it from there. */
  localise(fragment) {
    for (const image of fragment.querySelectorAll("image")) image.setAttribute("href", this.local(image.getAttribute("href")));
    for (const image of fragment.querySelectorAll("img")) this.#point(image, image.getAttribute("src"));
  }

  /** Return what shows the picture, decoded; rejects with status 0 while there is no connection, 404 where it is withdrawn. */
  async decoded(picture, alt) {
    await this.#fetch(picture.url).catch((error) => {
      if (error.status) throw error;
    });
    const image = new Image(picture.width, picture.height);
    image.id = "shown";
    image.alt = alt;
    if (!picture.shown_html) image.srcset = picture.srcset;
    image.sizes = "(min-width: 60em) 66vw, 100vw";
    this.#point(image, picture.url);
    await image.decode().catch(() => {
      throw Object.assign(new Error("not here yet"), { status: 0 });
    });
    if (!picture.shown_html) return image;
    const drawn = nodes(picture.shown_html);
    this.localise(drawn);
    return drawn.firstElementChild;
  }

  /** Return what shows two pictures, both decoded; rejects as `decoded` does, with the `picture` that it is about. */
  async both(pictures, html) {
    for (const picture of pictures) {
      await this.decoded(picture, picture.alt).catch((error) => {
        throw Object.assign(error, { picture });
      });
    }
    const drawn = nodes(html);
    this.localise(drawn);
    return drawn.firstElementChild;
  }

  /** Let go of pictures: they have been shown, or were withdrawn. */
  drop(addresses) {
    this.#line = this.#line.filter((address) => !addresses.includes(address));
    for (const address of addresses) {
      if (this.#kept.has(address)) URL.revokeObjectURL(this.#kept.get(address));
      this.#kept.delete(address);
      this.#asked.delete(address);
    }
  }

  #point(image, address) {
    if (this.#kept.has(address)) image.removeAttribute("srcset");
    image.src = this.local(address);
  }

  #pull() {
    while (this.#busy < AT_ONCE && this.#line.length) {
      this.#busy += 1;
      const address = this.#line.shift();
      this.#fetch(address).then(
        () => this.#done(),
        (error) => this.#failed(address, error),
      );
    }
  }

  #done() {
    this.#wait_ms = 1000;
    this.#busy -= 1;
    this.#pull();
  }

  #failed(address, error) {
    if (error.status) this.#whenGone(address);
    else this.#line.unshift(address);
    setTimeout(() => {
      this.#busy -= 1;
      this.#pull();
    }, this.#wait_ms);
    this.#wait_ms = Math.min(this.#wait_ms * 2, WAIT_LONGEST_MS);
  }

  #fetch(address) {
    if (!this.#asked.has(address)) {
      const asked = this.#bring(address);
      this.#asked.set(address, asked);
      asked.catch(() => this.#asked.delete(address));
    }
    return this.#asked.get(address);
  }

  async #bring(address) {
    const response = await fetch(address, { credentials: "same-origin" }).catch(() => {
      throw Object.assign(new Error("no connection"), { status: 0 });
    });
    // A server in trouble is a connection in trouble; only a picture that is gone for her is gone.
    if (!response.ok) throw Object.assign(new Error("refused"), { status: [403, 404, 410].includes(response.status) ? response.status : 0 });
    const kept = URL.createObjectURL(await response.blob());
    this.#kept.set(address, kept);
    return kept;
  }
}
