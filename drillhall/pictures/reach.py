"""Tells of the forms that somebody has pictures of where they are drilled, and which lie idle because no set of hers holds them."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy.orm import Session

from drillhall.core.values import Form
from drillhall.store.queries import own_pictures as mine
from drillhall.store.queries import pictures as queries
from drillhall.words import speaking


@dataclass(frozen=True, slots=True)
class IdleForm:
    """A form of which somebody has practice pictures that no pair set she has taken drills; `offered` are sets of the hall that would."""

    form: Form
    pictures: int
    offered: tuple[tuple[int, str], ...]


def list_idle_forms(db: Session, account_id: int) -> tuple[IdleForm, ...]:
    """Return the forms whose pictures somebody would drill if she took another set, or if there were one."""
    counts = {form_id: count for form_id, count in mine.forms_of_mine(db, account_id).items() if count}
    sets = mine.sets_with_forms(db, account_id, list(counts))
    drilled = {form_id for form_id, _, _, is_taken in sets if is_taken}
    forms = queries.forms_by_id(db, [form_id for form_id in counts if form_id not in drilled], speaking())
    idle = (
        IdleForm(queries.form_of(*form), counts[id_], tuple((set_id, title) for form_id, set_id, title, _ in sets if form_id == id_))
        for id_, form in forms.items()
    )
    return tuple(sorted(idle, key=lambda one: (one.form.name, one.form.wears)))
