"""Finds the form that is meant by a key or by names: exactly one, or a sentence that says why not; nothing is guessed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from sqlalchemy.orm import Session

from drillhall.errors import Invalid
from drillhall.store.queries import naming
from drillhall.store.queries.pictures import catalogues_near
from drillhall.words import say

_WORDS: Final = ("sex", "life_stage", "plumage", "variant")


@dataclass(frozen=True, slots=True)
class NamedForm:
    """A form as one catalogue keys it, with every name of its concept, folded; `traits` are that catalogue's, key → id."""

    form_id: int
    catalogue: str
    subject: str
    key: str
    name: str
    names: frozenset[str]
    scientific: frozenset[str]
    sex: str
    life_stage: str
    plumage: str
    variant: str
    traits: Mapping[str, int]

    @property
    def told(self) -> str:
        """How it is named where several might be meant."""
        return f"{self.catalogue}:{self.key}"


@dataclass(frozen=True, slots=True)
class Meant:
    """What is said to name a form: its key, with its catalogue's before a colon or beside it, or its names; then its words."""

    key: str = ""
    catalogue: str = ""
    scientific_name: str = ""
    vernacular_name: str = ""
    sex: str = ""
    life_stage: str = ""
    plumage: str = ""
    variant: str = ""

    @property
    def is_nothing(self) -> bool:
        """Whether no form is named at all."""
        return not (self.key or self.scientific_name or self.vernacular_name)


def list_named_forms(db: Session, account_id: int) -> tuple[NamedForm, ...]:
    """Return the forms that somebody may name: those of the catalogues she drills or writes, else of all."""
    near = catalogues_near(db, account_id)
    rows = naming.keyed_forms(db, near)
    concepts = {form.concept_id for _, _, form in rows}
    scientific, common = naming.scientific_names(db, concepts), naming.common_names(db, concepts)
    traits: dict[int, dict[str, int]] = {}
    for (catalogue_id, key), trait_id in naming.trait_ids(db, near).items():
        traits.setdefault(catalogue_id, {})[key] = trait_id
    found = []
    for catalogue, key, form in rows:
        latin, called = [row.scientific_name for row in scientific.get(form.concept_id, [])], common.get(form.concept_id, [])
        found.append(
            NamedForm(
                form_id=form.id,
                catalogue=catalogue.key,
                subject=catalogue.subject,
                key=key,
                name=next(iter([*called, *latin]), key),
                names=frozenset(map(_folded, called)),
                scientific=frozenset(map(_folded, latin)),
                **{word: getattr(form, word) for word in _WORDS},
                traits=traits.get(catalogue.id, {}),
            )
        )
    return tuple(found)


def the_form_meant(meant: Meant, forms: Sequence[NamedForm]) -> NamedForm:
    """Return the one form that is meant, or raise Invalid naming the field.

    Words that a form does not say of itself are seen beyond it; a form that says more than is said does not fit.
    """
    if meant.key:
        return _by_key(meant, forms)
    fitting = [form for form in forms if _has_names(form, meant)]
    said = " / ".join(filter(None, (meant.vernacular_name, meant.scientific_name)))
    if not fitting:
        raise Invalid(
            say("No form here is called {said}.", said=said), field="vernacularName" if meant.vernacular_name else "scientificName"
        )
    words = ", ".join(filter(None, (getattr(meant, word) for word in _WORDS))) or say("no word on sex, life stage and plumage")
    fitting = [form for form in fitting if _has_words(form, meant)]
    exact = [form for form in fitting if _says(form) == sum(bool(getattr(meant, word)) for word in _WORDS)] or fitting
    if not exact:
        raise Invalid(say("{said} is known, and no form of it with {words}.", said=said, words=words), field="plumage")
    return _the_only(exact, say("{said} with {words}", said=said, words=words))


def _by_key(meant: Meant, forms: Sequence[NamedForm]) -> NamedForm:
    before, colon, after = meant.key.rpartition(":")
    catalogue, key = (before if colon else meant.catalogue), after
    fitting = [form for form in forms if form.key == key and catalogue in ("", form.catalogue)]
    if not fitting:
        if catalogue:
            raise Invalid(say("There is no form {key} in the catalogue {catalogue}.", key=key, catalogue=catalogue), field="form")
        raise Invalid(say("There is no form {key}.", key=key), field="form")
    only = _the_only(fitting, say("The form {key}", key=key))
    if not _has_names(only, meant):
        raise Invalid(say("The form {told} is {name}, and the names beside it are others.", told=only.told, name=only.name), field="form")
    return only


def _the_only(fitting: Sequence[NamedForm], said: str) -> NamedForm:
    if len({form.form_id for form in fitting}) > 1:
        raise Invalid(
            say("{said} may be any of {forms}: write one of these as form.", said=said, forms=", ".join(form.told for form in fitting)),
            field="form",
        )
    return fitting[0]


def _has_names(form: NamedForm, meant: Meant) -> bool:
    by_name = not meant.vernacular_name or _folded(meant.vernacular_name) in form.names
    return by_name and (not meant.scientific_name or _folded(meant.scientific_name) in form.scientific)


def _has_words(form: NamedForm, meant: Meant) -> bool:
    own = ((getattr(form, word), getattr(meant, word)) for word in _WORDS)
    return all(not of_form or _folded(of_form) == _folded(said) for of_form, said in own)


def _says(form: NamedForm) -> int:
    return sum(bool(getattr(form, word)) for word in _WORDS)


def _folded(name: str) -> str:
    return " ".join(name.casefold().split())
