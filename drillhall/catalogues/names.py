"""What readers call the things of a catalogue: forms and traits by their names, not by the keys that its files use."""

from __future__ import annotations

from collections.abc import Sequence

from drillhall.catalogues.folder import FolderCatalogue, FolderForm
from drillhall.core.values.worn import worn_words
from drillhall.words import Said, say


class Names:
    """Names looked up in what one or more states of a catalogue say, in the first that knows a key; an unknown key is told as it is."""

    def __init__(self, *states: FolderCatalogue) -> None:
        self._traits = {trait.key: trait.label for said in reversed(states) for trait in said.traits}
        self._forms = {form.key: form for said in reversed(states) for form in said.forms}
        self._sets = {one.key: one.title for said in reversed(states) for one in said.sets}

    def trait(self, key: str) -> str:
        """Return what a trait is called."""
        return self._traits.get(key) or key

    def form(self, key: str) -> str:
        """Return a form's name, with what it wears where that is said: Mere piper (juvenile)."""
        form = self._forms.get(key)
        return _with_wear(form) if form is not None and form.vernacular_name else key

    def pair(self, forms: Sequence[str]) -> Said:
        """Return the names of the two forms of a pair, given by their keys."""
        return say("{first} and {second}", first=self.form(forms[0]), second=self.form(forms[1]))

    def pair_of_key(self, key: str) -> Said:
        """Return the same of a pair given by its own key, which is the forms' keys with a colon between."""
        first, _, second = key.partition(":")
        return self.pair((first, second))

    def pair_set(self, key: str) -> str:
        """Return the title of a pair set."""
        return self._sets.get(key) or key


def _with_wear(form: FolderForm) -> str:
    worn = worn_words(form.life_stage, form.plumage, form.sex, form.variant)
    return say("{name} ({wears})", name=form.vernacular_name, wears=worn) if worn else form.vernacular_name
