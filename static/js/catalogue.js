// A pair's page: what decides is worked out again while one types, by the server, which keeps nothing of it.

import { nodes } from "./drill/markup.js";

const WAIT_MS = 350;

const form = document.querySelector("form[data-work]");
const place = document.querySelector("[data-worked]");
let waiting = 0;
let asked = null;

async function work() {
  asked?.abort();
  asked = new AbortController();
  const answer = await fetch(form.dataset.work, { method: "POST", body: new FormData(form), signal: asked.signal });
  if (answer.ok && !answer.redirected) place.replaceChildren(nodes(await answer.text()));
}

function soon() {
  clearTimeout(waiting);
  waiting = setTimeout(() => work().catch(() => {}), WAIT_MS);
}

if (form && place) {
  form.addEventListener("input", soon);
  document.querySelector("[data-work-button]").hidden = true;
}
