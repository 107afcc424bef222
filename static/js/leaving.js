// Signing out: hands in what waits on this device, or says what would be lost; then everything of the person leaves the device.

import { AtHand } from "./drill/at_hand.js";
import { openOutbox } from "./drill/outbox.js";
import { say, sayN } from "./words.js";

const WAIT_MS = 8000;
const place = document.querySelector("[data-queue]");

for (const form of document.querySelectorAll('form[action^="/sign-out"]')) {
  form.addEventListener("submit", (event) => {
    if (!window.isSecureContext || !place) return;
    event.preventDefault();
    leave(form);
  });
}

async function leave(form) {
  const words = wordsOf(form);
  words.textContent = say("Handing in what waits on this device…");
  const outbox = await openOutbox(place.dataset.queue, place.dataset.answers, place.dataset.csrf);
  const why = await new Promise((resolve) => {
    outbox.addEventListener("state", (event) => resolve(event.detail.waiting ? event.detail.why : ""), { once: true });
    setTimeout(() => resolve("offline"), WAIT_MS);
    outbox.send();
  });
  const waiting = (await outbox.list()).length;
  if (!waiting) return go(form, outbox);
  words.textContent =
    why === "busy"
      ? sayN("{n} answer waits on this device: the hall did not take it up. Nobody is signed out yet. Try again later, or sign out and lose what waits.", "{n} answers wait on this device: the hall did not take it up. Nobody is signed out yet. Try again later, or sign out and lose what waits.", waiting)
      : sayN("{n} answer waits on this device: there is no connection. Nobody is signed out yet. Try again later, or sign out and lose what waits.", "{n} answers wait on this device: there is no connection. Nobody is signed out yet. Try again later, or sign out and lose what waits.", waiting);
  return offer(form, outbox);
}

function offer(form, outbox) {
  if (form.querySelector("[data-lose]")) return;
  const button = document.createElement("button");
  button.type = "button";
  button.className = "quiet";
  button.dataset.lose = "";
  button.textContent = say("Sign out and lose them");
  button.addEventListener("click", () => go(form, outbox));
  form.append(button);
}

async function go(form, outbox) {
  await outbox.empty();
  await new AtHand(place.dataset.queue).forget();
  for (const name of Object.keys(localStorage)) if (name.startsWith("drillhall")) localStorage.removeItem(name);
  form.submit();
}

function wordsOf(form) {
  const found = form.querySelector("[role=status]");
  if (found) return found;
  const words = document.createElement("p");
  words.className = "small";
  words.setAttribute("role", "status");
  form.append(words);
  return words;
}
