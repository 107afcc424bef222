// The learner's pages: hands in answers that wait on this device, plays the drill where the page holds one, keeps it on the device.

import { AtHand } from "./drill/at_hand.js";
import { openOutbox } from "./drill/outbox.js";
import { play } from "./drill/player.js";

const place = document.querySelector("[data-queue]");
const main = document.querySelector("[data-drill]");

// Over plain http from another machine the drill goes page by page; what is kept on a device needs https.
if (!window.isSecureContext) {
  main?.querySelector("[data-plain]").removeAttribute("hidden");
} else if (place) {
  workOffline();
  const outbox = await openOutbox(place.dataset.queue, place.dataset.answers, place.dataset.csrf);
  const atHand = new AtHand(place.dataset.queue);
  await atHand.forgetOthers();
  if (main) await play(main, outbox, atHand);
  else {
    outbox.addEventListener("withdrawn", (event) => atHand.drop(event.detail));
    outbox.send();
    if (document.querySelector("[data-keep]")) await (await import("./keeping.js")).keepByHand(atHand, place.dataset.csrf);
  }
}

async function workOffline() {
  const policy = window.trustedTypes?.createPolicy("drillhall worker", { createScriptURL: (address) => address });
  const address = policy ? policy.createScriptURL("/sw.js") : "/sw.js";
  // Without it the hall works as long as there is a connection.
  const worker = await navigator.serviceWorker?.register(address, { scope: "/" }).catch(() => null);
  // A browser by itself looks for another language only after a while of silence; the connection may be gone by then.
  if (worker?.active && !(await isSpoken(document.documentElement.lang))) worker.update().catch(() => {});
}

async function isSpoken(language) {
  return (await caches.keys()).some((name) => name.startsWith("drillhall pages ") && name.endsWith(` ${language}`));
}
