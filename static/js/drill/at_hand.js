// Keeps a drill on this device: its page, its packet, the program's files and every picture, so that it opens without a connection.

import { nodes } from "./markup.js";

const PREFIX = "drillhall drill ";
const PAGE = "/drill";
const AT_ONCE = 2;

/** The drill that is kept for one person in one hall; a device keeps one person's drill at a time. */
export class AtHand {
  #name;
  #last = Promise.resolve("");

  constructor(queue) {
    this.#name = PREFIX + queue;
  }

  /** Return what is kept on this device, whosever it is: {queue, packet}, or null. */
  static async find() {
    for (const name of await names()) {
      const cache = await caches.open(name);
      const packets = (await cache.keys()).filter(({ url }) => new URL(url).pathname.startsWith("/drills/"));
      if (packets.length && (await cache.match(PAGE))) return { queue: name.slice(PREFIX.length), packet: await (await cache.match(packets[0])).json() };
    }
    return null;
  }

  /** Let go of what is kept for others: whoever signs in here has not to find it. */
  async forgetOthers() {
    await Promise.all((await names()).filter((name) => name !== this.#name).map((name) => caches.delete(name)));
  }

  /** Let go of the drill. */
  forget() {
    return caches.delete(this.#name);
  }

  /** Return whether the drill of this packet is kept. */
  async holds(packetUrl) {
    return (await caches.has(this.#name)) && Boolean(await (await caches.open(this.#name)).match(packetUrl));
  }

  /**
   * Keep a drill with the pictures that are left to show; resolves with "" where all is here, else why not: "full" or "offline".
   * `ready` resolves once the page itself has what it shows next: what is kept for later must not hold that up.
   */
  keep(packet, packetUrl, left, ready = () => Promise.resolve()) {
    this.#last = this.#last.then(() => this.#keep(packet, packetUrl, left, ready));
    return this.#last;
  }

  /** Let go of pictures that were withdrawn, in every size. */
  async drop(pictures) {
    if (!pictures.length || !(await caches.has(this.#name))) return;
    const cache = await caches.open(this.#name);
    const gone = (await cache.keys()).filter(({ url }) => pictures.includes(new URL(url).pathname.split("/")[2]));
    await Promise.all(gone.map((request) => cache.delete(request)));
  }

  async #keep(packet, packetUrl, left, ready) {
    const cache = await caches.open(this.#name);
    try {
      const page = await this.#page(cache, packetUrl);
      await cache.put(packetUrl, new Response(JSON.stringify(packet), { headers: { "Content-Type": "application/json" } }));
      const met = packet.rounds.filter((round) => round.meet_html).map((round) => nodes(round.meet_html));
      const shown = left.flatMap((showing) => [showing.picture.url, ...showing.beside]);
      const wanted = [...new Set([...filesOf(page), ...picturesOf(page), ...met.flatMap(picturesOf), ...shown])];
      await bringAll(cache, filesOf(page));
      await ready();
      const why = await bringAll(cache, wanted);
      await tidy(cache, [PAGE, packetUrl, ...wanted]);
      return why;
    } catch (error) {
      if (error.name !== "QuotaExceededError") return "offline";
      // A drill half kept would be found wanting where nothing can be done about it.
      await this.forget();
      return "full";
    }
  }

  /** Return the drill's page as it is kept; one of this version, drill and language is not asked for again. */
  async #page(cache, packetUrl) {
    const told = `<html lang="${document.documentElement.lang}"`;
    const fits = (text) => [packetUrl, new URL(import.meta.url).pathname, told].every((part) => text.includes(part));
    const kept = await cache.match(PAGE);
    const text = kept && (await kept.text());
    if (text && fits(text)) return nodes(text);
    const response = await fetch(PAGE, { credentials: "same-origin", cache: "no-store" });
    const sent = await response.clone().text();
    // A page of another version would not fit the packet and the files that are kept with it.
    if (!response.ok || response.redirected || !fits(sent)) throw new Error("no page to keep");
    await cache.put(PAGE, response);
    return nodes(sent);
  }
}

async function bringAll(cache, addresses) {
  const line = [...addresses];
  let why = "";
  const one = async () => {
    for (let address = line.shift(); address; address = line.shift()) {
      if (await cache.match(address)) continue;
      const response = await fetch(address, { credentials: "same-origin" }).catch(() => null);
      if (response?.ok) await cache.put(address, response);
      else if (!response || response.status >= 500) why = "offline";
    }
  };
  await Promise.all(Array.from({ length: AT_ONCE }, one));
  return why;
}

async function tidy(cache, wanted) {
  const unwanted = (await cache.keys()).filter(({ url }) => !wanted.includes(new URL(url).pathname));
  await Promise.all(unwanted.map((request) => cache.delete(request)));
}

function filesOf(page) {
  const files = [...page.querySelectorAll("link[rel~=stylesheet], link[rel~=modulepreload], link[rel~=icon], script[src]")];
  return files.map((one) => one.getAttribute("href") ?? one.getAttribute("src"));
}

function picturesOf(fragment) {
  const images = [...fragment.querySelectorAll("img")];
  const sizes = images.flatMap((image) => (image.getAttribute("srcset") ?? "").split(",").map((one) => one.trim().split(" ")[0]));
  const drawn = [...fragment.querySelectorAll("image")].map((image) => image.getAttribute("href"));
  return [...images.map((image) => image.getAttribute("src")), ...sizes, ...drawn].filter(Boolean);
}

async function names() {
  return (await caches.keys()).filter((name) => name.startsWith(PREFIX));
}
