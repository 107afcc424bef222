"""Reads the traits of a catalogue out of the store, with what is said of them in every language."""

from __future__ import annotations

from collections import defaultdict

from sqlalchemy import select
from sqlalchemy.orm import Session

from drillhall.catalogues.folder import FolderState, FolderTrait
from drillhall.catalogues.writing.extras import from_json
from drillhall.core.tongues import words_in
from drillhall.store.models.catalogue import StateRow, TraitRow


def stored_traits(db: Session, catalogue_id: int) -> tuple[FolderTrait, ...]:
    """Return the traits in use of a catalogue with their states, in its order."""
    in_use = select(TraitRow).where(TraitRow.catalogue_id == catalogue_id, TraitRow.retired_at.is_(None))
    traits = db.scalars(in_use.order_by(TraitRow.place, TraitRow.id)).all()
    states: dict[int, list[FolderState]] = defaultdict(list)
    query = select(StateRow).where(StateRow.trait_id.in_([trait.id for trait in traits]), StateRow.retired_at.is_(None))
    for state in db.scalars(query.order_by(StateRow.place, StateRow.id)):
        also, extra = tuple(state.also_called), from_json(state.extra)
        states[state.trait_id].append(FolderState(state.key, state.label, also, state.colour, extra, words_in(state.said)))
    return tuple(
        FolderTrait(
            key=trait.key,
            label=trait.label,
            part=trait.part,
            kind=trait.kind,
            states=tuple(states[trait.id]),
            ask=trait.ask,
            unit=trait.unit,
            note=trait.note,
            extra=from_json(trait.extra),
            said=words_in(trait.said),
        )
        for trait in traits
    )
