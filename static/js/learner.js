// The learner's pages: hands in answers that wait on this device, and plays the drill where the page holds one.

import { openOutbox } from "./drill/outbox.js";
import { play } from "./drill/player.js";

const place = document.querySelector("[data-queue]");
const main = document.querySelector("[data-drill]");

// Over plain http from another machine the drill goes page by page; what is kept on a device needs https.
if (!window.isSecureContext) {
  main?.querySelector("[data-plain]").removeAttribute("hidden");
} else if (place) {
  const outbox = await openOutbox(place.dataset.queue, place.dataset.answers, place.dataset.csrf);
  if (main) await play(main, outbox);
  else outbox.send();
}
