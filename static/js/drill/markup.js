// The one door through which the hall's own markup enters a page.

const policy = window.trustedTypes?.createPolicy("drillhall", { createHTML: (text) => text });

/** Return markup as nodes that are not in the page yet, so that nothing in them loads. */
export function nodes(text) {
  const template = document.createElement("template");
  template.innerHTML = policy ? policy.createHTML(text) : text;
  return template.content;
}
