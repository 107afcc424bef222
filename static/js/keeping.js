// Today's page: keeps today's drill on this device when asked to, and lets go of one that is over.

import { say } from "./words.js";

const WORDS = {
  begun: say("Keeping today's drill…"),
  "": say("Today's drill is on this device, with its pictures. It needs no connection until it is handed in."),
  offline: say("The connection broke off before the whole drill was here. Press again when it is back."),
  full: say("There is no room on this device for today's drill. It goes on with a connection; free some room to do without one."),
};

/** Let the page's button keep the drill; a drill that is kept already is brought up to date, one that is over goes. */
export async function keepByHand(atHand, csrfUrl) {
  const place = document.querySelector("[data-keep]");
  if (!place) return;
  const { packet, plan } = place.dataset;
  const holds = packet && (await atHand.holds(packet));
  if (!holds) await atHand.forget();
  if (!packet && !plan) return;
  const button = place.querySelector("button");
  const [note, status] = place.querySelector("[data-keep-words]").children;
  const keep = async (tells) => {
    button.disabled = true;
    note.textContent = "";
    tells.textContent = WORDS.begun;
    const why = await bring(atHand, packet || (await planned(plan, csrfUrl)));
    tells.textContent = WORDS[why];
    button.disabled = false;
    button.hidden = !why;
  };
  button.addEventListener("click", () => {
    navigator.storage?.persist?.();
    keep(status);
  });
  place.hidden = false;
  if (holds) await keep(note); // unasked, so it is there to be read, and not said
}

async function bring(atHand, packetUrl) {
  const response = packetUrl && (await fetch(packetUrl, { headers: { Accept: "application/json" }, cache: "no-store" }).catch(() => null));
  if (!response?.ok) return "offline";
  const packet = await response.json();
  await atHand.drop(packet.withdrawn);
  const open = packet.rounds.flatMap((round) => round.showings.filter((showing) => showing.asks.some((ask) => !showing.given[ask.place])));
  return atHand.keep(packet, packetUrl, open);
}

async function planned(planUrl, csrfUrl) {
  try {
    const { token } = await (await fetch(csrfUrl, { headers: { Accept: "application/json" }, cache: "no-store" })).json();
    const headers = { Accept: "application/json", "Content-Type": "application/json", "X-CSRFToken": token };
    const response = await fetch(planUrl, { method: "POST", headers, body: "{}" });
    return response.ok ? (await response.json()).packet_url : "";
  } catch {
    return "";
  }
}
