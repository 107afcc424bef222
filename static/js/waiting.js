// What takes a while says so as soon as it has begun, and is not begun twice.

for (const form of document.querySelectorAll("form[data-waits]")) {
  const button = form.querySelector("button");
  const told = form.querySelector("[data-waiting]");
  const show = (waits) => { button.disabled = waits; told.hidden = !waits; };
  form.addEventListener("submit", () => show(true));
  // A page that comes back from the browser's store waits for nothing any more.
  addEventListener("pageshow", (event) => { if (event.persisted) show(false); });
}
