// Answers for the hall while there is no connection: with the drill that is kept on this device, and a page that says what is.
// Where a browser can wake it, it hands in answers that wait here while no page is open (W3C, Web Background Synchronization).
// The hall writes SHELL before this: version, language, the page for when there is no connection, all pages that are kept, their files,
// and where answers go.

const SHELL_PREFIX = "drillhall pages ";
const SHELL_ONCE = "drillhall shell "; // of workers that answered from no shell but their own: theirs stays until they are gone
const DRILL_PREFIX = "drillhall drill ";
const SHELL_NAME = `${SHELL_PREFIX}${SHELL.version} ${SHELL.language}`;
const PATIENCE_MS = 4000;
const HALL_AWAY = [502, 504]; // a proxy answers, the hall behind it does not
const MOST_AT_ONCE = 50;

// Where pages are open, a new worker waits until the last of them is closed, and the one before answers for it from the shell it has brought.
// It does not ask to go first: browsers then exchange workers in the midst of requests, and a page that is just being visited may never come.
addEventListener("install", (event) => event.waitUntil(stock().then(forgetOtherShells)));
addEventListener("activate", (event) => event.waitUntil(forget((name) => name.startsWith(SHELL_ONCE))));
addEventListener("fetch", (event) => {
  const answer = answerTo(event.request);
  if (answer) event.respondWith(answer);
});
addEventListener("sync", (event) => event.tag === "drillhall answers" && event.waitUntil(navigator.locks.request("drillhall outbox", handIn)));

function answerTo(request) {
  const { origin, pathname } = new URL(request.url);
  if (origin !== location.origin) return null;
  if (request.method === "POST" && pathname.startsWith("/sign-out")) return leave(request);
  if (request.method !== "GET") return null;
  if (request.mode === "navigate") return visit(request, pathname);
  if (pathname.startsWith("/static/") || pathname.startsWith("/pictures/")) return keptFirst(request);
  return pathname.startsWith("/drills/") ? freshFirst(request) : null;
}

// The pages are asked for as by nobody, so that they hold nobody's name, and yet in the language of whoever reads here.
async function stock() {
  const shell = await caches.open(SHELL_NAME);
  for (const address of SHELL.pages) {
    const page = await fetch(address, { credentials: "omit", cache: "no-store", headers: { "Accept-Language": SHELL.language } });
    if (!page.ok) throw new Error("a page for when there is no connection did not come");
    await shell.put(address, page);
  }
  await shell.addAll(SHELL.files);
}

async function visit(request, pathname) {
  const kept = pathname === "/drill" ? await inDrills(pathname) : undefined;
  const fresh = fetch(request).catch(() => null);
  // A weak signal keeps one waiting longer than no signal at all.
  const response = await (kept ? Promise.race([fresh, pause(PATIENCE_MS)]) : fresh);
  if (response && !HALL_AWAY.includes(response.status)) return response;
  return kept ?? (await inShell(pathname)) ?? (await inShell(SHELL.page)) ?? response ?? Response.error();
}

async function keptFirst(request) {
  return (await caches.match(request, { ignoreVary: true })) ?? fetch(request);
}

async function freshFirst(request) {
  const response = await fetch(request).catch(() => null);
  if (response && !HALL_AWAY.includes(response.status)) return response;
  return (await inDrills(new URL(request.url).pathname)) ?? response ?? Response.error();
}

// Whoever signs out leaves nothing of hers behind, whether her page's own script got as far or not; what is not handed in yet waits for her.
async function leave(request) {
  const response = await fetch(request).catch(() => null);
  if (response?.type === "opaqueredirect" || response?.ok) await Promise.all([forget((name) => name.startsWith(DRILL_PREFIX)), forgetHanded()]);
  return response ?? (await inShell(SHELL.page)) ?? Response.error();
}

// Takes turns with open pages, and tells what the outbox tells: the hall knows an answer by its id, whoever sends it and however often.
// What it cannot hand in waits for a page, which says why: signed out, somebody else's, not to be read. Where it throws, it is woken again.
async function handIn() {
  const database = await openAnswers().catch(() => null);
  if (!database) return;
  const waiting = (await done(answersIn(database).getAll())).filter((answer) => !answer.handed);
  for (const queue of new Set(waiting.map((answer) => answer.queue))) {
    const hers = waiting.filter((answer) => answer.queue === queue);
    for (let first = 0; first < hers.length; first += MOST_AT_ONCE) await hand(database, queue, hers.slice(first, first + MOST_AT_ONCE));
  }
  database.close();
}

async function forgetHanded() {
  const database = await openAnswers().catch(() => null);
  if (!database) return;
  const handed = (await done(answersIn(database).getAll())).filter((answer) => answer.handed);
  await Promise.all(handed.map(({ queue, id }) => done(answersIn(database, "readwrite").delete([queue, id]))));
  database.close();
}

async function hand(database, queue, answers) {
  const ask = { credentials: "same-origin", cache: "no-store", headers: { Accept: "application/json" } };
  const { token } = await (await fetch(SHELL.csrf, ask)).json();
  const phone_now = new Date().toISOString();
  const response = await fetch(SHELL.answers, {
    ...ask,
    method: "POST",
    headers: { ...ask.headers, "Content-Type": "application/json", "X-CSRFToken": token },
    body: JSON.stringify({ queue, answers: answers.map(({ queue: _, ...answer }) => ({ ...answer, phone_now })) }),
  });
  if (response.status >= 500) throw new Error("the hall is away");
  if (!response.ok) return;
  const { stored, known } = await response.json();
  const handed = answers.filter(({ id }) => [...stored, ...known].includes(id));
  await Promise.all(handed.map((answer) => done(answersIn(database, "readwrite").put({ ...answer, handed: true }))));
}

// The database is made by the page's outbox; the worker makes none.
function openAnswers() {
  const opening = indexedDB.open("drillhall", 1);
  opening.onupgradeneeded = () => opening.transaction.abort();
  return done(opening);
}

function answersIn(database, mode = "readonly") {
  return database.transaction("answers", mode).objectStore("answers");
}

function done(request) {
  return new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
}

function inShell(address) {
  return inCaches(SHELL_PREFIX, address);
}

function inDrills(address) {
  return inCaches(DRILL_PREFIX, address);
}

async function inCaches(prefix, address) {
  for (const name of (await caches.keys()).filter((one) => one.startsWith(prefix))) {
    const found = await caches.match(address, { cacheName: name, ignoreVary: true });
    if (found) return found;
  }
  return undefined;
}

function forgetOtherShells() {
  return forget((name) => name.startsWith(SHELL_PREFIX) && name !== SHELL_NAME);
}

async function forget(whether) {
  const names = (await caches.keys()).filter(whether);
  await Promise.all(names.map((name) => caches.delete(name)));
}

function pause(ms) {
  return new Promise((resolve) => setTimeout(() => resolve(null), ms));
}
