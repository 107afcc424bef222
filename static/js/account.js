// Small comforts of forms about oneself: the passphrase can be shown, and the time zone is guessed from the device.

import { say } from "./words.js";

for (const input of document.querySelectorAll('input[type="password"]')) {
  const button = document.createElement("button");
  button.type = "button";
  button.className = "quiet show-passphrase";
  button.textContent = say("Show the passphrase");
  button.setAttribute("aria-controls", input.id);
  button.addEventListener("click", () => {
    const hidden = input.type === "password";
    input.type = hidden ? "text" : "password";
    button.textContent = hidden ? say("Hide the passphrase") : say("Show the passphrase");
    input.focus();
  });
  input.closest(".field").append(button);
  // Sent as text it would be offered again as a thing typed before.
  input.form.addEventListener("submit", () => { input.type = "password"; });
}

const zone = document.querySelector('select[name="zone"]');
if (zone && zone.value === "UTC") {
  const here = Intl.DateTimeFormat().resolvedOptions().timeZone;
  if ([...zone.options].some((option) => option.value === here)) zone.value = here;
}
