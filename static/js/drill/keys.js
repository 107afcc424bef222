// Answers by key: a button names its own keys, by their place on the keyboard, mirroring its place on the screen.

/** Let keys press the panel's buttons: while the panel has the focus, or always where the learner asked for it. */
export function listen(main, { always }) {
  document.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.altKey || event.metaKey || event.repeat || event.isComposing) return;
    const panel = main.querySelector("[data-play]:not([hidden]) .panel");
    if (!panel || isTyping(event.target)) return;
    if (!always && !panel.contains(document.activeElement)) return;
    if (press(panel, event.code)) event.preventDefault();
  });
}

function press(panel, code) {
  const neither = panel.querySelector(".neither");
  if (neither && code === "KeyN") {
    neither.open = !neither.open;
    (neither.open ? neither.querySelector("[data-keys]") : neither.querySelector("summary")).focus();
    return true;
  }
  const place = neither?.open ? neither : panel;
  const button = [...place.querySelectorAll("[data-keys]")].find((one) => one.dataset.keys.split(" ").includes(code));
  button?.click();
  return Boolean(button);
}

function isTyping(target) {
  return target.matches?.("input:not([type=checkbox]), textarea, select, [contenteditable]") ?? false;
}
