"""Says how two concepts lie to each other where that makes one of two that were learnt apart, and parts them where it is taken back."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy.orm import Session

from drillhall.catalogues import joined
from drillhall.catalogues.editing import mapping
from drillhall.catalogues.editing.changing import Act, Seen, change, refuse_faults, the_opened
from drillhall.catalogues.folder import FolderMapping
from drillhall.catalogues.writing.joining import MEND_NOT_HERS, NOT_HERS, is_taught_by_others
from drillhall.core.terms import CONGRUENT
from drillhall.errors import Invalid
from drillhall.people import audit
from drillhall.practice import joined as told
from drillhall.practice.folding import refold_pictures

CHANGED = Act("changed", "how concepts lie to each other")


@dataclass(frozen=True, slots=True)
class WouldJoin:
    """What would become one, by name, and what that touches."""

    said: FolderMapping
    one: str
    other: str
    forms: int
    foreseen: told.Foreseen


def would_join(db: Session, key: str, values: Mapping[str, Any], *, by: int) -> WouldJoin | None:
    """Return what it would touch to say this of two concepts, or None where it makes nothing one; reads only.

    Raises Invalid where the catalogue would have a fault, where a catalogue in use teaches the two side by side, and where one that
    somebody else writes teaches either, unless who says it keeps the hall.
    """
    opened = the_opened(db, key, by)
    new = mapping.say_mapping(opened.said, values)
    refuse_faults(opened.said, new)
    said = mapping.the_mapping(values)
    apart = joined.find_apart(db, said.subject, said.object) if said.relation == CONGRUENT else None
    if apart is None:
        return None
    if is_taught_by_others(db, (apart.stays, apart.joins), by_id=by):
        raise Invalid(NOT_HERS + " " + MEND_NOT_HERS, field="object")
    names = mapping.names_of(opened.said)
    foreseen = told.foresee(db, set(apart.forms), set(apart.forms.values()))
    return WouldJoin(said, names.get(said.subject, said.subject), names.get(said.object, said.object), len(apart.forms), foreseen)


def say_of_concepts(db: Session, key: str, values: Mapping[str, Any], seen: Seen, *, by: int, at: datetime, is_foreseen: bool) -> bool:
    """Say how two concepts lie to each other; where two were learnt apart, they become one if she who says it has seen what follows.

    Returns False, with nothing done, where she has not. Raises as `would_join` does, and Stale.
    """
    opened = the_opened(db, key, by, to_write=True)
    found = would_join(db, key, values, by=by)
    if found is not None and found.forms and not is_foreseen:
        return False
    if found is not None:
        join = joined.join(db, found.said.subject, found.said.object, by=by, at=at)
        learners = told.fold_anew(db, join.pairs)
        told.note_learners(db, join.join_id, join.fell_away)
        audit.note(db, "concepts joined", at=at, by=by, subject=f"joining {join.join_id}, {learners} learners")
    change(db, opened, lambda said: mapping.say_mapping(said, values), CHANGED, by=by, at=at, seen=seen)
    part_unsaid(db, by=by, at=at)
    return True


def unsay_of_concepts(db: Session, key: str, subject: str, other: str, *, by: int, at: datetime) -> None:
    """Take out what a catalogue says of two concepts; two that had become one are two again where no other catalogue says it."""
    opened = the_opened(db, key, by, to_write=True)
    change(db, opened, lambda said: mapping.drop_mapping(said, subject, other), CHANGED, by=by, at=at)
    part_unsaid(db, by=by, at=at)


def part_unsaid(db: Session, *, by: int, at: datetime) -> int:
    """Part every two concepts that had become one and of which no catalogue says so any more; return how many learners that touched."""
    parted = joined.part_unsaid(db)
    if not parted:
        return 0
    refold_pictures(db, joined.hang_anew(db, at=at))
    learners = told.fold_anew(db, frozenset[int]().union(*(one.pairs for one in parted)))
    audit.note(db, "concepts parted", at=at, by=by, subject=f"{learners} learners")
    return learners
