"""Questions about traits follow how well she reads each: they fade where she reads it, and stay where she does not."""

from __future__ import annotations

import uuid
from datetime import timedelta

from sqlalchemy import select

from drillhall.core.prompts import ENOUGH_ASKED
from drillhall.practice import playing
from drillhall.practice.drilling import start_drill
from drillhall.practice.folding import refold_pictures
from drillhall.practice.packets import Packet
from drillhall.store.models.pictures import PictureRow
from drillhall.store.models.practice import AnswerRow, PromptTallyRow, ShowingRow
from drillhall.store.session import Store
from tests.practice.playing import Knows, play
from tests.practice.small_hall import NOON, SmallHall


def asked_of(packet: Packet, pair_id: int) -> list[str]:
    """Return the traits asked for in a pair's rounds."""
    rounds = [view for view in packet.rounds if view.pair.id == pair_id and not view.spare]
    return [question.trait.key for view in rounds for one in view.showings for question in one.questions if question.trait]


def after(store: Store, hall: SmallHall, knows: Knows, days: int) -> Packet:
    """Let her drill for some days and return the drill planned the day after."""
    for day in range(days):
        with store.work() as db:
            play(db, hall.learner, at=NOON + timedelta(days=day), knows=knows)
    with store.work() as db:
        later = NOON + timedelta(days=days)
        drill = start_drill(db, hall.learner, drill_id=str(uuid.uuid4()), at=later)
        return playing.the_packet(db, hall.learner, drill, now=later)


def test_a_trait_that_she_reads_well_fades_even_while_the_pair_is_shaky(sqlite_store: Store, quick_hall: SmallHall) -> None:
    packet = after(sqlite_store, quick_hall, lambda view, question: question.kind == "trait", days=3)
    with sqlite_store.look() as db:
        asked = sum(db.scalars(select(PromptTallyRow.shown).where(PromptTallyRow.trait == "bill")))
    assert asked >= ENOUGH_ASKED
    assert "bill" not in asked_of(packet, quick_hall.pairs[0])


def test_a_trait_that_she_misreads_stays_and_comes_first(sqlite_store: Store, quick_hall: SmallHall) -> None:
    def knows(view: object, question: playing.Question) -> bool:
        return question.trait is not None and question.trait.key != "legs"

    packet = after(sqlite_store, quick_hall, knows, days=3)
    assert asked_of(packet, quick_hall.pairs[2])[0] == "legs", "by itself the bill tells more"
    assert asked_of(packet, quick_hall.pairs[0]) == []


def test_a_question_about_a_picture_relabelled_since_says_nothing(sqlite_store: Store, quick_hall: SmallHall) -> None:
    with sqlite_store.work() as db:
        play(db, quick_hall.learner, at=NOON)
        before = sum(db.scalars(select(PromptTallyRow.shown)))
        prompted = select(ShowingRow.picture_id).join(AnswerRow, AnswerRow.showing_id == ShowingRow.id).where(ShowingRow.prompted)
        picture = db.get_one(PictureRow, db.scalars(prompted).first())
        picture.form_id = quick_hall.forms[3] if picture.form_id != quick_hall.forms[3] else quick_hall.forms[2]
        db.flush()
        refold_pictures(db, [picture.id])
        assert sum(db.scalars(select(PromptTallyRow.shown))) == before - 1


def test_every_round_says_why_it_is_there(sqlite_store: Store, quick_hall: SmallHall) -> None:
    packet = after(sqlite_store, quick_hall, lambda view, question: True, days=1)
    assert {view.why_words for view in packet.rounds} <= set(playing.WHY_WORDS.values())
    assert all(view.why_words for view in packet.rounds)
