// Keeps answers on this device until the hall says that it has them: written at the tap, sent in order, marked when acknowledged, so that
// a drill opened again without a connection knows what has been answered.

const STORE = "answers";
const MOST_AT_ONCE = 50;
const WAIT_FIRST_MS = 2000;
const WAIT_LONGEST_MS = 60000;

/** Open one person's outbox in one hall; without a database on the device, what is given lasts as long as the page. */
export async function openOutbox(queue, answersUrl, csrfUrl) {
  const database = await openDatabase().catch(() => null);
  const outbox = new Outbox(database ? new Kept(database, queue) : new Held(), queue, answersUrl, csrfUrl);
  // A clock that was set back must not put what is given now before what waits already.
  const latest = (await outbox.list()).at(-1);
  if (latest) newId.last = Math.max(newId.last, Number.parseInt(latest.id.replaceAll("-", "").slice(0, 12), 16) + 1);
  return outbox;
}

/** Return the answers of one person that this device knows of, those included that the hall has already. */
export async function listGiven(queue) {
  const database = await openDatabase().catch(() => null);
  const given = database ? await new Kept(database, queue).list() : [];
  database?.close();
  return given;
}

/** Return a UUID of version 7 (RFC 9562): later ones sort behind earlier ones, within a millisecond too. */
export function newId() {
  const now = Date.now();
  newId.count = now > newId.last ? crypto.getRandomValues(new Uint16Array(1))[0] & 0x7ff : newId.count + 1;
  newId.last = Math.max(now, newId.last);
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  for (let i = 0; i < 6; i += 1) bytes[i] = Math.floor(newId.last / 2 ** (8 * (5 - i))) % 256;
  bytes[6] = 0x70 | ((newId.count >> 8) & 0x0f);
  bytes[7] = newId.count & 0xff;
  bytes[8] = 0x80 | (bytes[8] & 0x3f);
  const hex = Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
  return hex.replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, "$1-$2-$3-$4-$5");
}
newId.last = 0;
newId.count = 0;

class Outbox extends EventTarget {
  #shelf;
  #spill = new Held(); // what the device has no room for
  #queue;
  #answersUrl;
  #csrfUrl;
  #sending = null;
  #more = false;
  #timer = 0;
  #wait_ms = WAIT_FIRST_MS;

  constructor(shelf, queue, answersUrl, csrfUrl) {
    super();
    this.#shelf = shelf;
    this.#queue = queue;
    this.#answersUrl = answersUrl;
    this.#csrfUrl = csrfUrl;
    window.addEventListener("online", () => this.#soon());
    document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && this.#soon());
  }

  /** Return the answers that wait, in the order they were given. */
  async list() {
    return (await this.given()).filter((answer) => !answer.handed);
  }

  /** Return the answers that this device knows of, those included that the hall has already. */
  async given() {
    const all = [...(await this.#shelf.list()), ...(await this.#spill.list())];
    return all.sort((one, other) => (one.id < other.id ? -1 : 1));
  }

  /** Keep an answer, then send what waits; resolves once it is kept. */
  async put(answer) {
    try {
      await this.#shelf.put(answer);
    } catch {
      await this.#spill.put(answer);
      this.dispatchEvent(new Event("full"));
    }
    this.send();
  }

  /** Forget answers that the hall has and tells of by itself. */
  async forget(whether) {
    await this.#shelf.take((await this.given()).filter((answer) => answer.handed && whether(answer)).map(({ id }) => id));
  }

  /** Forget everything of this person, answers that wait included. */
  async empty() {
    await this.#shelf.take((await this.given()).map(({ id }) => id));
  }

  /** Send what waits, once at a time; resolves with how many answers wait still. */
  send() {
    this.#more = true;
    this.#sending ??= this.#alone();
    return this.#sending;
  }

  #soon() {
    this.#wait_ms = WAIT_FIRST_MS;
    this.send();
  }

  // Two pages of one person take turns; the hall would know an answer sent twice, but need not be asked.
  async #alone() {
    clearTimeout(this.#timer);
    const run = () => this.#run();
    let told;
    do {
      this.#more = false;
      told = navigator.locks ? await navigator.locks.request("drillhall outbox", run) : await run();
    } while (this.#more && !told.why);
    this.#sending = null;
    const { waiting, why } = told;
    if (why && why !== "signed out") {
      wakeTheWorker();
      this.#timer = setTimeout(() => this.send(), this.#wait_ms);
      this.#wait_ms = Math.min(this.#wait_ms * 2, WAIT_LONGEST_MS);
    }
    this.dispatchEvent(new CustomEvent("state", { detail: { waiting, why } }));
    return waiting;
  }

  async #run() {
    for (;;) {
      const waiting = await this.list();
      if (!waiting.length) return { waiting: 0, why: "" };
      const why = await this.#hand(waiting.slice(0, MOST_AT_ONCE));
      if (why) return { waiting: (await this.list()).length, why };
      this.#wait_ms = WAIT_FIRST_MS;
    }
  }

  /** Send one batch; return why it could not be handed in, or nothing. */
  async #hand(answers) {
    let response;
    try {
      response = await this.#post(answers);
    } catch {
      return "offline";
    }
    // Also where somebody else has signed in here meanwhile: what waits stays hers.
    if (response.status === 401 || response.redirected) return "signed out";
    if (response.ok) return this.#told(await response.json().catch(() => null));
    // One answer that the hall cannot even read must not hold up the others.
    if (response.status === 422 && answers.length > 1) {
      for (const answer of answers) {
        const why = await this.#hand([answer]);
        if (why) return why;
      }
      return "";
    }
    if (response.status === 422) {
      const { sentence } = await response.json().catch(() => ({}));
      return this.#told({ refused: [{ id: answers[0].id, why: sentence ?? "The hall could not read it." }] });
    }
    return "busy";
  }

  async #post(answers) {
    const ask = { credentials: "same-origin", headers: { Accept: "application/json" }, cache: "no-store" };
    const { token } = await (await fetch(this.#csrfUrl, ask)).json();
    return fetch(this.#answersUrl, {
      ...ask,
      method: "POST",
      headers: { ...ask.headers, "Content-Type": "application/json", "X-CSRFToken": token },
      body: JSON.stringify({ queue: this.#queue, answers: answers.map((answer) => ({ ...answer, phone_now: new Date().toISOString() })) }),
    });
  }

  async #told(told) {
    if (!told) return "busy";
    const refused = told.refused ?? [];
    const handed = [...(told.stored ?? []), ...(told.known ?? [])];
    if (!handed.length && !refused.length) return "busy";
    await this.#shelf.hand(handed);
    await this.#shelf.take(refused.map((one) => one.id));
    await this.#spill.take([...handed, ...refused.map((one) => one.id)]);
    if (refused.length) this.dispatchEvent(new CustomEvent("refused", { detail: refused }));
    if (told.withdrawn?.length) this.dispatchEvent(new CustomEvent("withdrawn", { detail: told.withdrawn }));
    return "";
  }
}

// Where the browser can, the worker hands in what waits once there is a connection, though this page be closed by then.
function wakeTheWorker() {
  navigator.serviceWorker?.ready.then((worker) => worker.sync?.register("drillhall answers")).catch(() => {});
}

/** Answers in the device's database, under the person and hall that they belong to. */
class Kept {
  constructor(database, queue) {
    this.database = database;
    this.queue = queue;
  }

  async put(answer) {
    await this.#write((store) => store.put({ queue: this.queue, ...answer }));
  }

  async take(ids) {
    if (ids.length) await this.#write((store) => ids.forEach((id) => store.delete([this.queue, id])));
  }

  /** Mark answers as handed in; where there is no room for the mark, they go. */
  async hand(ids) {
    const mark = (store) =>
      ids.forEach((id) => {
        const found = store.get([this.queue, id]);
        found.onsuccess = () => found.result && store.put({ ...found.result, handed: true });
      });
    await this.#write(mark).catch(() => this.take(ids));
  }

  async list() {
    const store = this.database.transaction(STORE).objectStore(STORE);
    const found = await done(store.getAll(IDBKeyRange.bound([this.queue, ""], [this.queue, "\uffff"])));
    return found.map(({ queue: _, ...answer }) => answer);
  }

  #write(change) {
    const work = this.database.transaction(STORE, "readwrite", { durability: "strict" });
    change(work.objectStore(STORE));
    return new Promise((resolve, reject) => {
      work.oncomplete = resolve;
      work.onerror = work.onabort = () => reject(work.error);
    });
  }
}

/** Answers in memory, where the device keeps no database for us. */
class Held {
  answers = new Map();

  async put(answer) {
    this.answers.set(answer.id, answer);
  }

  async take(ids) {
    ids.forEach((id) => this.answers.delete(id));
  }

  async hand(ids) {
    for (const id of ids) if (this.answers.has(id)) this.answers.get(id).handed = true;
  }

  async list() {
    return [...this.answers.values()];
  }
}

async function openDatabase() {
  const opening = indexedDB.open("drillhall", 1);
  opening.onupgradeneeded = () => opening.result.createObjectStore(STORE, { keyPath: ["queue", "id"] });
  // A later release may need the database to itself while this page is still open.
  opening.onsuccess = () => (opening.result.onversionchange = () => opening.result.close());
  return done(opening);
}

function done(request) {
  return new Promise((resolve, reject) => {
    request.addEventListener("success", () => resolve(request.result));
    request.addEventListener("error", () => reject(request.error));
  });
}
