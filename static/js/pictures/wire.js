// What goes over the line when pictures are sent: their hashes, then those of them that the hall lacks.

import { say } from "../words.js";

const BROKEN = say("The connection broke off. Nothing is lost: send it again.");
const AGAIN = [0, 401, 408, 409, 429, 500, 502, 503, 504];

/** Return a file's SHA-256 in hex, or null where this page may not reckon one (plain http) or the file cannot be read. */
export async function sha256(file) {
  if (!window.isSecureContext || !crypto.subtle) return null;
  try {
    const digest = await crypto.subtle.digest("SHA-256", await file.arrayBuffer());
    return Array.from(new Uint8Array(digest), (byte) => byte.toString(16).padStart(2, "0")).join("");
  } catch {
    return null;
  }
}

/** Ask which of some SHA-256 the hall has, and return the page of each; nothing where it cannot be asked. */
export async function askKnown(form, digests) {
  if (!digests.length) return {};
  const headers = { "Content-Type": "application/json", Accept: "application/json", "X-CSRFToken": form.elements.csrf_token.value };
  try {
    const answer = await fetch(form.dataset.known, { method: "POST", headers, body: JSON.stringify({ sha256: digests }) });
    return answer.ok ? (await answer.json()).known : {};
  } catch {
    return {};
  }
}

/** Send one file; fetch cannot tell how far it is, so this is the older way. Resolves to what became of it, and never fails. */
export function post(form, file, tell) {
  const body = new FormData();
  body.append("csrf_token", form.elements.csrf_token.value);
  body.append("undisturbed", "yes");
  body.append("file", file);
  return new Promise((resolve) => {
    const request = new XMLHttpRequest();
    request.open("POST", form.dataset.sending);
    request.setRequestHeader("Accept", "application/json");
    request.responseType = "json";
    request.upload.addEventListener("progress", (event) => event.lengthComputable && tell(event.loaded / event.total));
    request.addEventListener("loadend", () => resolve(read(request)));
    request.send(body);
  });
}

function read(request) {
  const told = request.response ?? {};
  if (request.status === 200 && told.page) return { kept: true, already: told.already, page: told.page };
  return { kept: false, again: AGAIN.includes(request.status), sentence: told.sentence ?? BROKEN };
}
