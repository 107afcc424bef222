// Sliders beside the number fields: each says the same as its field, and the picture follows once a slider rests.

const WAIT_MS = 250;
const form = document.querySelector("[data-far]");

if (form) {
  let waiting = null;
  for (const slider of form.querySelectorAll("[data-slider]")) {
    const field = form.elements.namedItem(slider.dataset.slider);
    const follow = () => {
      const value = Number(field.value.replace(",", "."));
      slider.value = field.value.trim() && Number.isFinite(value) ? value : slider.max;
    };
    follow();
    slider.hidden = false;
    field.addEventListener("input", follow);
    slider.addEventListener("input", () => {
      field.value = slider.value;
      clearTimeout(waiting);
      waiting = setTimeout(show, WAIT_MS);
    });
  }
}

/** Take picture and words from the page that the hall renders for these numbers. */
async function show() {
  const address = `${location.pathname}?${new URLSearchParams(new FormData(form))}`;
  const response = await fetch(address, { credentials: "same-origin" }).catch(() => null);
  if (!response?.ok) return form.requestSubmit();
  const [now, next] = [document, document.implementation.createHTMLDocument("")];
  const { nodes } = await import("../drill/markup.js");
  next.body.append(nodes(await response.text()));
  for (const part of ["[data-preview]", "[data-told]"]) {
    const [old, fresh] = [now.querySelector(part), next.querySelector(part)];
    if (!old || !fresh) return form.requestSubmit();
    old.replaceWith(document.importNode(fresh, true));
  }
  history.replaceState(null, "", address);
  for (const hidden of document.querySelectorAll("form[method=post] input[type=hidden]")) {
    const field = form.elements.namedItem(hidden.name);
    if (field) hidden.value = field.value;
  }
  return undefined;
}
