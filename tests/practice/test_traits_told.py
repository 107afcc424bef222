"""A learner is told traits in her language: the drill differs in its words alone, and her own words are heard in any language."""

from __future__ import annotations

from typing import Any

import pytest
from sqlalchemy import event, select
from sqlalchemy.orm import Session

from drillhall.errors import Invalid
from drillhall.practice import playing
from drillhall.practice.drilling import start_drill
from drillhall.practice.explaining import the_meeting
from drillhall.practice.lore import lore_of_pairs
from drillhall.practice.packets import Packet
from drillhall.practice.working_out import work_out
from drillhall.store.models.catalogue import CataloguePairRow, CatalogueRow, StateRow, TraitRow
from drillhall.store.session import Store
from drillhall.words import speak
from tests.practice.small_hall import NOON, SmallHall

TRAITS = {"bill": {"label": "Schnabel", "ask": "Welche Form hat der Schnabel?"}, "legs": {"label": "Beinfarbe"}}
STATES = {"straight": "gerade", "curved": "gebogen", "dark": "dunkel", "pale": "blass"}


def say_in_german(db: Session, tag: str = "de", *, but: str = "") -> None:
    """Say every trait and state in German, one state left aside."""
    for trait in db.scalars(select(TraitRow)):
        trait.said = {tag: TRAITS[trait.key]}
    for state in db.scalars(select(StateRow).where(StateRow.key != but)):
        state.said = {tag: {"label": STATES[state.key], "also_called": [f"{STATES[state.key]} gefärbt"]}}
    for pair in db.scalars(select(CataloguePairRow)):
        pair.said = {tag: {"note": "Oft in einem Trupp."}}
    db.flush()


def packet_in(db: Session, learner: int, drill_id: str, language: str) -> Packet:
    with speak(language):
        return playing.the_packet(db, learner, drill_id, now=NOON)


def without_words(packet: Packet) -> list[Any]:
    """Return what a packet asks without any word: of whom, what may be answered, what is right, where the ring lies."""
    return [
        (showing.id, question.place, question.kind, question.key, [choice.key for choice in question.choices], question.hint_mark)
        for view in packet.rounds
        for showing in view.showings
        for question in showing.questions
    ]


def test_a_drill_in_her_language_differs_in_its_words_alone(store: Store, hall: SmallHall) -> None:
    with store.work() as db:
        say_in_german(db)
        drill_id = start_drill(db, hall.learner, drill_id="d", at=NOON)
        english, german = (packet_in(db, hall.learner, drill_id, language) for language in ("en", "de"))
    assert without_words(german) == without_words(english)
    questions = [question for view in german.rounds for showing in view.showings for question in showing.questions]
    asked = {question.trait.key: question for question in questions if question.trait}
    assert asked["bill"].trait is not None
    assert asked["bill"].trait.ask == "Welche Form hat der Schnabel?"
    assert [choice.label for choice in asked["bill"].choices] == ["gerade", "gebogen"]
    told = [question.explained for question in questions if question.explained and question.explained.trait]
    assert {one.trait.label for one in told if one.trait} <= {"Schnabel", "Beinfarbe"}
    assert {side.state for one in told for side in (one.first, one.second)} <= {"gerade", "gebogen", "dunkel", "blass"}
    assert {question.hint.told("de") for question in questions if question.kind == "form"} <= {  # type: ignore[attr-defined]  # a Said
        "Sieh hierhin: Schnabel.",
        "Sieh hierhin: Beinfarbe.",
    }


def test_words_cost_no_statement_more(sqlite_store: Store, quick_hall: SmallHall) -> None:
    asked: list[str] = []
    with sqlite_store.work() as db:
        say_in_german(db)
        drill_id = start_drill(db, quick_hall.learner, drill_id="d", at=NOON)
    event.listen(sqlite_store.engine, "before_cursor_execute", lambda *told: asked.append(told[2]))
    counts = []
    for language in ("en", "de"):
        asked.clear()
        with sqlite_store.work() as db:
            packet_in(db, quick_hall.learner, drill_id, language)
        counts.append(len(asked))
    assert counts[0] == counts[1] > 0


def test_a_region_serves_its_language_and_what_is_unsaid_stays_as_the_catalogue_says_it(sqlite_store: Store, quick_hall: SmallHall) -> None:
    with sqlite_store.work() as db:
        say_in_german(db, "de-AT", but="curved")
        with speak("de"):
            lore = lore_of_pairs(db, quick_hall.catalogue, [quick_hall.pairs[0]])[quick_hall.pairs[0]]
            met = the_meeting(db, quick_hall.learner, quick_hall.pairs[0], now=NOON)
    bill = lore.trait("bill")
    assert [(state.label, state.language) for state in bill.states] == [("gerade", "de-AT"), ("curved", "en")]
    assert (bill.label, bill.language, lore.trait("legs").ask) == ("Schnabel", "de-AT", "")
    assert (met.note, [one.trait.label for one in met.traits]) == ("Oft in einem Trupp.", ["Schnabel", "Beinfarbe"])


def test_a_catalogue_in_her_language_is_told_as_it_is(sqlite_store: Store, quick_hall: SmallHall) -> None:
    with sqlite_store.work() as db:
        say_in_german(db, "en")
        db.get_one(CatalogueRow, quick_hall.catalogue).language = "de"
        with speak("de"):
            lore = lore_of_pairs(db, quick_hall.catalogue, [quick_hall.pairs[0]])[quick_hall.pairs[0]]
    assert (lore.trait("bill").label, lore.note) == ("Bill", "Often in one flock.")


def test_what_she_says_is_heard_in_every_language_that_the_state_has(sqlite_store: Store, quick_hall: SmallHall) -> None:
    with sqlite_store.work() as db:
        say_in_german(db)
    for language, word in (("de", "Gebogen"), ("de", "curved"), ("en", "gebogen gefärbt"), ("en", "curved"), ("de", "gebogen  GEFARBT")):
        with sqlite_store.look() as db, speak(language):
            page = work_out(db, quick_hall.learner, quick_hall.pair_set, {"bill": word}, now=NOON)
        assert next(one.seen for one in page.traits if one.trait.key == "bill") == "curved", (language, word)
    with sqlite_store.look() as db, speak("de"), pytest.raises(Invalid, match="mark one of gerade, gebogen"):
        work_out(db, quick_hall.learner, quick_hall.pair_set, {"bill": "krumm"}, now=NOON)
