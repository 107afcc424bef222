"""Names forms under the list that a learner has chosen; two that bear one name there are told apart by their finer names."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import replace

from sqlalchemy.orm import Session

from drillhall.core.values import Form
from drillhall.store.models.catalogue import CatalogueRow
from drillhall.store.queries import lists as reading
from drillhall.words import speaking


def under_list(db: Session, catalogue: CatalogueRow, forms: Mapping[int, Form], list_name: str) -> dict[int, Form]:
    """Return forms as a list names them; one of which it has no name stays as the catalogue calls it.

    The list's name of a form is what the catalogue says of it, else the name of its concept under the list, or of one with the same
    boundary, else that of a concept which includes it. Where forms of different concepts come to bear one name, the names that the
    catalogue gives them stand among what they wear, so that a question is about the form and not about the name. Lists name in the
    catalogue's language: a form that is told in the reader's other one keeps that common name.
    """
    if not list_name or list_name == catalogue.list_name or not forms:
        return dict(forms)
    concepts = reading.concepts_of_forms(db, forms)
    own = reading.also_named(db, catalogue.id, forms, list_name=list_name)
    shared = reading.names_under(db, concepts.values(), list_name=list_name, language=catalogue.language)
    named = {}
    for form_id, form in forms.items():
        found = own.get(form_id) or shared.get(concepts.get(form_id, 0))
        named[form_id] = _renamed(form, *found, catalogue.language) if found else form
    return _told_apart(forms, named, concepts)


def _renamed(form: Form, scientific: str, common: str, language: str) -> Form:
    is_in_hers = form.language != language and form.language.partition("-")[0] == speaking()
    if is_in_hers or not common:
        return replace(form, scientific_name=scientific)
    return replace(form, scientific_name=scientific, name=common, language=language)


def known_lists(db: Session) -> tuple[str, ...]:
    """Return the lists under which the hall knows names."""
    return tuple(reading.list_names(db))


def _told_apart(forms: Mapping[int, Form], named: Mapping[int, Form], concepts: Mapping[int, int]) -> dict[int, Form]:
    bearers: dict[str, set[int]] = defaultdict(set)
    for form_id, form in named.items():
        for name in _names(form):
            bearers[name].add(concepts.get(form_id, 0))
    told = dict(named)
    for form_id, form in named.items():
        if any(len(bearers[name]) > 1 for name in _names(form)):
            old = forms[form_id]
            finer = old.name if old.name != form.name else old.scientific_name
            told[form_id] = replace(form, variant=", ".join(word for word in (form.variant, finer) if word))
    return told


def _names(form: Form) -> tuple[str, str]:
    """Return what a form is called, either of which two concepts may share: choices bear the common name alone."""
    return form.scientific_name, form.name.casefold()
