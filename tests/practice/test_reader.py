"""What a learner has told of her eyes changes what is told first to her, and to nobody else."""

from __future__ import annotations

import pytest
from sqlalchemy import select

from drillhall.practice.drilling import start_drill
from drillhall.practice.explaining import the_meeting
from drillhall.practice.playing import the_packet
from drillhall.store.models.catalogue import StateRow, TraitRow
from drillhall.store.models.people import AccountRow
from drillhall.store.session import Store
from tests.practice.small_hall import NOON, SmallHall
from tests.practice.test_working_out import measure

DRILL = "00000000-0000-4000-8000-000000000001"


def tell(store: Store, hall: SmallHall, word: str) -> None:
    """Let the learner tell of her eyes, and let the deciding trait be one of colour."""
    with store.work() as db:
        db.get_one(AccountRow, hall.learner).colour_vision = word
        bill, legs = (db.scalars(select(TraitRow).where(TraitRow.key == key)).one() for key in ("bill", "legs"))
        bill.kind, legs.kind = "colour", "structure"


@pytest.mark.parametrize(("word", "first"), [("little", "legs"), ("red-green", "legs"), ("usual", "bill"), ("", "bill")])
def test_what_she_cannot_see_is_told_last(sqlite_store: Store, quick_hall: SmallHall, word: str, first: str) -> None:
    tell(sqlite_store, quick_hall, word)
    with sqlite_store.look() as db:
        # The third pair differs in both traits; the bill tells more.
        meeting = the_meeting(db, quick_hall.learner, quick_hall.pairs[2], now=NOON)
    assert meeting.traits[0].trait.key == first
    assert {told.trait.key for told in meeting.traits} == {"bill", "legs"}


@pytest.mark.parametrize(("word", "asked"), [("little", set()), ("usual", {"bill"})])
def test_what_she_cannot_see_is_not_asked_for(sqlite_store: Store, quick_hall: SmallHall, word: str, asked: set[str]) -> None:
    tell(sqlite_store, quick_hall, word)
    with sqlite_store.work() as db:
        start_drill(db, quick_hall.learner, drill_id=DRILL, at=NOON)
        packet = the_packet(db, quick_hall.learner, DRILL, now=NOON)
    questions = [one for view in packet.rounds for showing in view.showings for one in showing.questions]
    assert {one.trait.key for one in questions if one.trait is not None} - {"legs"} == asked


def test_her_own_word_for_a_state_stands_beside_it_when_it_is_asked(sqlite_store: Store, quick_hall: SmallHall) -> None:
    with sqlite_store.work() as db:
        db.scalars(select(StateRow).where(StateRow.key == "curved")).one().also_called = ["bent down"]
        start_drill(db, quick_hall.learner, drill_id=DRILL, at=NOON)
        packet = the_packet(db, quick_hall.learner, DRILL, now=NOON)
    questions = [one for view in packet.rounds for showing in view.showings for one in showing.questions if one.trait is not None]
    asked = next(one for one in questions if one.trait is not None and one.trait.key == "bill")
    assert asked.trait is not None
    assert asked.trait.state("curved").also_called == ("bent down",)


def test_what_is_measured_is_told_below_what_is_seen_and_asked_of_nobody(sqlite_store: Store, quick_hall: SmallHall) -> None:
    measure(sqlite_store, quick_hall)
    with sqlite_store.work() as db:
        meeting = the_meeting(db, quick_hall.learner, quick_hall.pairs[0], now=NOON)
        start_drill(db, quick_hall.learner, drill_id=DRILL, at=NOON)
        packet = the_packet(db, quick_hall.learner, DRILL, now=NOON)
    assert [(one.first, one.second, one.is_weak) for one in meeting.measures] == [("30 ± 2 mm", "60 ± 2 mm", False)]
    assert meeting.measures[0].worth == "decides: a cut at 45 mm puts nearly all right"
    questions = [one for view in packet.rounds for showing in view.showings for one in showing.questions]
    assert questions
    assert not any("mm" in choice.label for one in questions for choice in one.choices)
