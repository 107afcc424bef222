"""Puts doubts and twins into a hall with the small catalogue."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import timedelta

from sqlalchemy import Engine, event, select

from drillhall.store.models.catalogue import CatalogueRow
from drillhall.store.models.concepts import PairRow
from drillhall.store.models.pictures import PictureRow, RightsRow
from drillhall.store.session import Store
from tests.hall import MADE_AT
from tests.practice.saying import add_learners, pictures_of, say

KEY = "small-estuary"


@dataclass(frozen=True)
class Curated:
    """What is to be judged: a disputed picture, a scene on both sides, another pair of twins, a pair of forms."""

    doubted: str
    leak: tuple[str, str]
    twins: tuple[str, str]
    pair_id: int


def make_work(store: Store) -> Curated:
    """Let twelve learners dispute a label, and make two pairs of pictures alike, one of which leaks."""
    at = MADE_AT + timedelta(days=1)
    with store.work() as db:
        catalogue = db.scalars(select(CatalogueRow)).one()
        pair = db.scalars(select(PairRow).order_by(PairRow.id)).first()
        assert pair is not None
        first, second = pictures_of(db, pair.first_form_id), pictures_of(db, pair.second_form_id)
        held_out = pictures_of(db, pair.first_form_id, "held-out")
        learners = add_learners(db, 12, at=MADE_AT)
        say(db, catalogue.id, pair.id, first[:4] + second[:4], learners, at=at)
        say(db, catalogue.id, pair.id, [first[4]], learners, pair.second_form_id, at=at)
        rows = {row.id: row for row in db.scalars(select(PictureRow))}
        rows[held_out[0]].fingerprint = rows[first[0]].fingerprint
        rows[second[1]].fingerprint = rows[second[0]].fingerprint ^ 0b11
        db.get_one(RightsRow, second[1]).licence, db.get_one(RightsRow, second[1]).licence_url = "CC-BY-4.0", ""
        return Curated(
            doubted=rows[first[4]].public_id,
            leak=(rows[first[0]].public_id, rows[held_out[0]].public_id),
            twins=(rows[second[0]].public_id, rows[second[1]].public_id),
            pair_id=pair.id,
        )


@contextmanager
def counted_statements() -> Iterator[list[str]]:
    """Yield a list that fills with every statement sent to a database until leaving."""
    seen: list[str] = []

    def note(*args: object) -> None:
        seen.append(str(args[2]))

    event.listen(Engine, "before_cursor_execute", note)
    try:
        yield seen
    finally:
        event.remove(Engine, "before_cursor_execute", note)
