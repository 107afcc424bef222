// Says what scripts say in the language of the page: English as it is written here, any other by what the page carries on its body.

const told = JSON.parse(document.body.dataset.words ?? "{}");
const language = document.documentElement.lang || "en";
const plural = new Intl.PluralRules(language);

/** The locale in which dates and numbers of this page are written; English is British. */
export const locale = language === "en" ? "en-GB" : language;

/** Return a sentence, its {gaps} filled by `values`. */
export function say(words, values = {}) {
  return fill(told[words] ?? words, values);
}

/** Return the sentence for one or for many; {n} in it is the count. */
export function sayN(one, many, n, values = {}) {
  const forms = told[one];
  return fill(forms ? forms[plural.select(n)] ?? forms.other : n === 1 ? one : many, { n, ...values });
}

function fill(words, values) {
  return words.replace(/\{(\w+)\}/g, (gap, name) => values[name] ?? gap);
}
