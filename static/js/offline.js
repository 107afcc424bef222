// The page without a connection: says what this device holds, and goes away by itself when the connection is back.

import { AtHand } from "./drill/at_hand.js";
import { leftToShow, minutesTold } from "./drill/left.js";
import { listGiven } from "./drill/outbox.js";
import { locale, say, sayN } from "./words.js";

const page = document.querySelector("[data-offline]");
const find = (name) => page.querySelector(`[data-${name}]`);

// A network is not the hall yet: it is asked for something small first, now and then also without any sign of a network.
const LOOK_EVERY_MS = 10000;
window.addEventListener("online", look);
setInterval(look, LOOK_EVERY_MS);

const found = await AtHand.find().catch(() => null);
if (found) await tell(found).catch(() => null);

async function tell({ queue, packet }) {
  const given = await listGiven(queue);
  const waits = given.filter((answer) => !answer.handed).length;
  const saidTo = (showing, ask) =>
    showing.given[ask.place]?.said ?? given.find((answer) => answer.showing === showing.showing && answer.ask === ask.place)?.said;
  const left = leftToShow(packet.rounds, saidTo);
  const pairs = new Set(packet.rounds.filter((round) => round.showings.some((showing) => left.has(showing))).map((round) => round.pair)).size;
  const minutes = minutesTold(left.size, packet.seconds_a_showing);
  find("waits").textContent = waits ? sayN("{n} answer waits here and goes out with the next connection.", "{n} answers wait here and go out with the next connection.", waits) : "";
  find("left").textContent = say("{pairs}, about {minutes}", { pairs: sayN("{n} pair", "{n} pairs", pairs), minutes: sayN("{n} minute", "{n} minutes", minutes) });
  find("until").textContent = new Date(packet.until).toLocaleDateString(locale, { day: "numeric", month: "long" });
  find("nothing-kept").hidden = find("not-kept").hidden = true;
  find("drill-kept").hidden = find("keeps").hidden = false;
  find("go-on").hidden = !left.size;
}

async function look() {
  const response = await fetch("/manifest.webmanifest", { cache: "no-store" }).catch(() => null);
  if (response?.ok) window.location.reload();
}
