// Lets a long list of forms be found in by typing a part of the name.

const WORTH_IT = 8;

/** Put a field before a select that leaves only the options with what is typed; one that is left alone is chosen. */
export function filter(select) {
  const groups = [...select.querySelectorAll("optgroup")].map((group) => ({ group, options: [...group.children] }));
  if (groups.flatMap((one) => one.options).length < WORTH_IT) return;
  const field = document.createElement("input");
  field.type = "search";
  field.autocomplete = "off";
  field.placeholder = select.dataset.filter;
  field.setAttribute("aria-label", select.dataset.filter);
  field.setAttribute("aria-controls", select.id);
  field.addEventListener("input", () => narrow(select, groups, field.value));
  field.addEventListener("keydown", (event) => {
    if (event.key !== "Enter") return;
    event.preventDefault(); // the form is not sent by it
    select.focus();
  });
  select.before(field);
}

function narrow(select, groups, typed) {
  const wanted = typed.trim().toLowerCase().split(/\s+/);
  const chosen = select.value;
  const fits = (option) => wanted.every((word) => option.text.toLowerCase().includes(word));
  for (const { group, options } of groups) {
    const left = options.filter(fits);
    group.replaceChildren(...left);
    group.hidden = !left.length;
  }
  const left = groups.flatMap(({ group }) => [...group.children]);
  const stays = [...select.options].some((option) => option.value === chosen);
  select.value = typed.trim() && left.length === 1 ? left[0].value : stays ? chosen : "";
}
