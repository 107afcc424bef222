"""Tells who made the pictures of a catalogue, under which licence, and how often they are drilled."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy.orm import Session

from drillhall.core.licences import read_licence
from drillhall.store.queries import curating as reading
from drillhall.words import say


@dataclass(frozen=True, slots=True)
class Credited:
    """One maker under one licence: how many pictures the catalogue holds, and how often learners have been asked on them."""

    maker: str
    licence: str
    licence_url: str
    pictures: int
    times: int


def list_credited(db: Session, catalogue_id: int) -> tuple[Credited, ...]:
    """Return the makers of a catalogue's pictures, those of the most pictures first; a maker nobody named is "" there."""
    found = []
    for maker, licence, url, pictures, times in reading.credited(db, catalogue_id):
        known = read_licence(url or licence)
        found.append(Credited(maker, known.name if known else say("no licence given"), known.url if known else "", pictures, times))
    return tuple(found)
