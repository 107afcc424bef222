"""The meetings that a device keeps with a drill are those of the pairs' own pages, whatever the drill has read of them already."""

from __future__ import annotations

import uuid
from collections.abc import Callable

import pytest
from sqlalchemy import delete, select, update
from sqlalchemy.orm import Session

from drillhall.practice import playing
from drillhall.practice.drilling import start_drill
from drillhall.practice.explaining import list_meetings
from drillhall.store.models.catalogue import (
    CatalogueFormRow,
    CataloguePairRow,
    CatalogueRow,
    FormTraitRow,
    PairSetRow,
    StagePairRow,
    StageRow,
    StateRow,
    TakenSetRow,
    TraitRow,
)
from drillhall.store.session import Store
from tests.practice.small_hall import NOON, SmallHall


def nothing(db: Session, hall: SmallHall) -> None:
    """Leave all as it was when the drill was planned."""


def a_state_retires(db: Session, hall: SmallHall) -> None:
    legs = select(TraitRow.id).where(TraitRow.key == "legs").scalar_subquery()
    db.execute(update(StateRow).where(StateRow.trait_id == legs).values(retired_at=NOON))


def she_takes_another_catalogues_set(db: Session, hall: SmallHall) -> None:
    """Let another catalogue teach the same pairs, by a bill that it has marked on no picture, and her have its set alone."""
    other = CatalogueRow(key="others", title="Others", subject="bird", list_name="Other List", made_at=NOON, changed_at=NOON)
    db.add(other)
    db.flush()
    bill = TraitRow(catalogue_id=other.id, key="bill", label="Beak", part="bill", kind="structure", ask="")
    pair_set = PairSetRow(catalogue_id=other.id, key="all", title="All")
    db.add_all((bill, pair_set))
    db.flush()
    states = [StateRow(trait_id=bill.id, key=key, label=key, place=place) for place, key in enumerate(("straight", "curved"))]
    entries = [CatalogueFormRow(catalogue_id=other.id, form_id=form, key=str(form), place=form) for form in hall.forms]
    pairs = [CataloguePairRow(catalogue_id=other.id, pair_id=pair, key=str(pair), place=pair) for pair in hall.pairs]
    stage = StageRow(pair_set_id=pair_set.id, place=0, title="")
    db.add_all((*states, *entries, *pairs, stage))
    db.flush()
    db.add_all(FormTraitRow(catalogue_form_id=one.id, state_id=states[place % 2].id, word="always") for place, one in enumerate(entries))
    db.add_all(StagePairRow(stage_id=stage.id, catalogue_pair_id=one.id, place=place) for place, one in enumerate(pairs))
    db.execute(delete(TakenSetRow))
    db.add(TakenSetRow(account_id=hall.learner, pair_set_id=pair_set.id, taken_at=NOON))


@pytest.mark.parametrize("change", [nothing, a_state_retires, she_takes_another_catalogues_set])
def test_a_kept_meeting_is_the_page_of_the_pair(
    sqlite_store: Store, quick_hall: SmallHall, change: Callable[[Session, SmallHall], None]
) -> None:
    with sqlite_store.work() as db:
        drill_id = start_drill(db, quick_hall.learner, drill_id=str(uuid.uuid4()), at=NOON)
        change(db, quick_hall)
    with sqlite_store.look() as db:
        packet, kept = playing.packet_to_keep(db, quick_hall.learner, drill_id, now=NOON)
        pages = list_meetings(db, quick_hall.learner, {view.pair.id for view in packet.rounds if view.meet}, now=NOON)
    assert kept
    assert kept == pages
