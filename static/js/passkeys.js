// Passkeys (W3C, Web Authentication): asks the browser for one as the hall says, and sends the form with what it answers.

import { say } from "./words.js";

for (const place of document.querySelectorAll("[data-passkey]")) {
  const button = place.querySelector("[data-passkey-ask]");
  const words = place.querySelector("[data-passkey-words]");
  place.hidden = false;
  if (!window.PublicKeyCredential) {
    button.hidden = true;
    words.textContent = say("This browser knows no passkeys here. Codes go on without them.");
    continue;
  }
  button.addEventListener("click", async () => {
    button.disabled = true;
    words.textContent = "";
    try {
      await answer(place);
    } catch (error) {
      words.textContent = wordsFor(error);
    }
    button.disabled = false;
  });
}

async function answer(place) {
  const form = place.closest("form");
  const options = await asked(place.dataset.ask, form.elements.csrf_token.value);
  const credential = place.dataset.passkey === "make" ? await made(options) : await shown(options);
  place.querySelector("[name=passkey]").value = JSON.stringify(told(credential));
  form.requestSubmit(place.querySelector("[data-passkey-send]"));
}

async function asked(address, token) {
  const headers = { Accept: "application/json", "Content-Type": "application/json", "X-CSRFToken": token };
  const response = await fetch(address, { method: "POST", headers, body: "{}" });
  const said = await response.json();
  if (!response.ok) throw new Error(said.sentence, { cause: "hall" });
  return said;
}

function made(options) {
  const user = { ...options.user, id: bytes(options.user.id) };
  const publicKey = { ...options, user, challenge: bytes(options.challenge), excludeCredentials: described(options.excludeCredentials) };
  return navigator.credentials.create({ publicKey });
}

function shown(options) {
  const publicKey = { ...options, challenge: bytes(options.challenge), allowCredentials: described(options.allowCredentials) };
  return navigator.credentials.get({ publicKey });
}

function described(credentials = []) {
  return credentials.map((one) => ({ ...one, id: bytes(one.id) }));
}

function told({ id, rawId, type, response }) {
  const names = ["clientDataJSON", "attestationObject", "authenticatorData", "signature", "userHandle"];
  const parts = names.filter((name) => response[name]?.byteLength).map((name) => [name, text(response[name])]);
  return { id, rawId: text(rawId), type, response: { ...Object.fromEntries(parts), transports: response.getTransports?.() ?? [] } };
}

function wordsFor(error) {
  if (error.cause === "hall") return error.message;
  if (error.name === "InvalidStateError") return say("This device has a passkey of yours for this hall already.");
  if (error.name === "TypeError") return say("The hall could not be reached. Try again when the connection is back.");
  return say("The browser gave no passkey. Try again, or go on without one.");
}

function bytes(base64url) {
  return Uint8Array.from(atob(base64url.replaceAll("-", "+").replaceAll("_", "/")), (sign) => sign.charCodeAt(0));
}

function text(buffer) {
  const signs = String.fromCharCode(...new Uint8Array(buffer));
  return btoa(signs).replaceAll("+", "-").replaceAll("/", "_").replaceAll("=", "");
}
