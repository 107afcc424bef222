"""Copies a pair set of others into a catalogue of one's own: what it says, to be changed; its pictures stay where they are."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from drillhall.catalogues.editing.changing import Act, note
from drillhall.catalogues.editing.making import RESERVED
from drillhall.catalogues.editing.things import make_key
from drillhall.catalogues.excerpt import excerpt
from drillhall.catalogues.stewards import add_steward
from drillhall.catalogues.writing import stored_catalogue, write_rows
from drillhall.errors import NotFound
from drillhall.store.models.catalogue import CatalogueRow
from drillhall.store.queries.showing import find_set_in_use
from drillhall.words import say, speaking


def copy_into_own(db: Session, pair_set_id: int, *, by: int, at: datetime) -> str:
    """Make a catalogue of one pair set, of which `by` is the steward, and return its key; raises NotFound for a set out of use.

    It holds the set, its pairs, forms and traits, and says in its note where they are from. No picture comes along: whoever gave one
    gave it to the catalogue that holds it.
    """
    found = find_set_in_use(db, pair_set_id)
    if found is None:
        raise NotFound(say("There is no such pair set on the shelf."))
    whole = stored_catalogue(db, found.catalogue_id)
    said = excerpt(whole, found.key).without_pictures()
    taken = RESERVED | frozenset(db.scalars(select(CatalogueRow.key)))
    source = say("Copied from the pair set “{title}” of the catalogue “{catalogue}”.", title=found.title, catalogue=whole.title)
    mine = replace(said, key=make_key(found.title, taken, sign="-"), note=f"{source.told(speaking())}\n\n{said.note}".strip())
    written = write_rows(db, mine, at=at)
    add_steward(db, written.catalogue_id, by)
    note(db, written.catalogue_id, Act("made"), by=by, at=at)
    return mine.key
