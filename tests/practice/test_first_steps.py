"""First steps: told from what is there, gone when done or put away, each list to whom it concerns."""

from __future__ import annotations

from datetime import timedelta

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from drillhall.errors import NotFound
from drillhall.people import accounts, groups
from drillhall.people.person import Person
from drillhall.practice import first_steps, shelf
from drillhall.practice.assigning import Wanted, assign
from drillhall.practice.first_steps import Path
from drillhall.practice.outings import OutingSaid, plan_outing
from drillhall.store.models.catalogue import CatalogueRow, PairSetRow
from drillhall.store.models.practice import MemoryRow, TallyRow
from drillhall.store.session import Store
from tests.practice.small_hall import NOON, SmallHall, make_small_hall

WORDS = "seven dull lanterns hum"


def person(db: Session, name: str) -> Person:
    return accounts.make_account(db, name=name, passphrase=WORDS, at=NOON)


def paths(db: Session, account_id: int) -> dict[str, Path]:
    return {path.key: path for path in first_steps.list_paths(db, account_id)}


def coming(db: Session, account_id: int, key: str) -> str:
    return next((step.key for step in paths(db, account_id)[key].steps if step.comes_next), "")


def remembers(db: Session, account_id: int, small: SmallHall, *, rounds: int, held: int) -> None:
    row = MemoryRow(account_id=account_id, pair_id=small.pairs[0], stability_days=2.0, difficulty=5.0)
    row.last_day, row.due_day, row.rounds, row.held_running, row.last_outcome, row.recalled = (
        NOON.date(),
        NOON.date(),
        rounds,
        held,
        "held",
        [],
    )
    db.merge(row)


def answers(db: Session, account_id: int, small: SmallHall) -> None:
    first, second = small.forms[:2]
    row = TallyRow(account_id=account_id, pair_id=small.pairs[0], shown_form_id=first, said_form_id=second, week=203110, fresh=True)
    row.prompted, row.rendition, row.orientation, row.choices, row.count = False, "as taken", "left", 2, 1
    db.add(row)
    db.flush()


def test_a_beginner_is_led_from_the_shelf_to_a_steady_pair(store: Store) -> None:
    with store.work() as db:
        small = make_small_hall(db, taken=False)
        account_id = small.stranger
        assert set(paths(db, account_id)) == {"learning"}
        assert coming(db, account_id, "learning") == "take"
        shelf.take_set(db, account_id, small.pair_set, at=NOON)
        assert coming(db, account_id, "learning") == "answer"
        answers(db, account_id, small)
        assert coming(db, account_id, "learning") == "come-back"
        remembers(db, account_id, small, rounds=2, held=1)
        assert coming(db, account_id, "learning") == "hold"
        remembers(db, account_id, small, rounds=3, held=2)
        assert paths(db, account_id) == {}


def test_nobody_is_sent_to_an_empty_shelf(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        small = make_small_hall(db, taken=False)
        pair_set, catalogue = db.get_one(PairSetRow, small.pair_set), db.scalars(select(CatalogueRow)).one()
        assert coming(db, small.stranger, "learning") == "take"
        for row in (pair_set, catalogue):
            row.retired_at = NOON
            db.flush()
            assert coming(db, small.stranger, "learning") == "bring"
            row.retired_at = None
            db.flush()
        shelf.take_set(db, small.stranger, small.pair_set, at=NOON)
        pair_set.retired_at = NOON
        db.flush()
        steps = paths(db, small.stranger)["learning"].steps
        assert (steps[0].key, steps[0].is_done) == ("take", True), "she did take it once"


def test_a_list_that_was_put_away_stays_so_until_it_is_brought_back(store: Store) -> None:
    with store.work() as db:
        account_id = make_small_hall(db).stranger
        assert first_steps.list_paths(db, account_id, put_away=True) == ()
        for _ in range(2):
            first_steps.put_away(db, account_id, "learning")
    with store.work() as db:
        assert paths(db, account_id) == {}
        assert [path.key for path in first_steps.list_paths(db, account_id, put_away=True)] == ["learning"]
        for _ in range(2):
            first_steps.bring_back(db, account_id)
        assert set(paths(db, account_id)) == {"learning"}
        assert first_steps.list_paths(db, account_id, put_away=True) == ()


@pytest.mark.parametrize("path", ["", "flying", "Learning"])
def test_no_other_list_can_be_put_away(sqlite_store: Store, path: str) -> None:
    with sqlite_store.work() as db:
        account_id = make_small_hall(db).learner
        with pytest.raises(NotFound):
            first_steps.put_away(db, account_id, path)
        assert "learning" in paths(db, account_id)


def test_a_leader_is_led_from_a_set_to_an_outing(store: Store) -> None:
    with store.work() as db:
        small = make_small_hall(db)
        leader, member = person(db, "Rosalind"), person(db, "Aveline")
        group = groups.make_group(db, by=leader, title="Wednesday club", kind="club", is_paid=False, public_id="w" * 36, at=NOON)
        assert coming(db, leader.id, "leading") == "invite"
        assert "leading" not in paths(db, member.id)
        groups.add_member(db, group.id, member.id, at=NOON)
        assert "leading" not in paths(db, member.id)
        assert coming(db, leader.id, "leading") == "assign"
        day = NOON.date()
        given = assign(db, group.id, Wanted(small.pair_set, day), by=leader.id, today=day, at=NOON)
        assert coming(db, leader.id, "learning") == "take"  # it is the members' to drill
        assert coming(db, member.id, "learning") == "answer"
        path = paths(db, leader.id)["leading"]
        assert [step.key for step in path.steps if not step.is_done] == ["outing"]
        assert (path.group_key, path.group_title) == ("w" * 36, "Wednesday club")
        said = OutingSaid("Out", day + timedelta(days=7), assignment_id=given)
        plan_outing(db, group.id, said, by=leader.id, today=day, at=NOON)
        assert "leading" not in paths(db, leader.id)


def test_a_set_out_of_use_is_no_set(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        small = make_small_hall(db)
        leader = person(db, "Rosalind")
        groups.make_group(db, by=leader, title="Club", kind="club", is_paid=False, public_id="w" * 36, at=NOON)
        db.get_one(PairSetRow, small.pair_set).retired_at = NOON
        db.flush()
        assert coming(db, leader.id, "leading") == "set"


def test_a_teacher_is_led_from_the_roster_to_a_field_test(store: Store) -> None:
    with store.work() as db:
        small = make_small_hall(db)
        teacher, pupil = person(db, "Rosalind"), person(db, "Aveline")
        group = groups.make_group(db, by=teacher, title="7b", kind="class", is_paid=False, public_id="t" * 36, at=NOON)
        assert coming(db, teacher.id, "teaching") == "roster"
        assert "leading" not in paths(db, teacher.id)
        groups.add_member(db, group.id, pupil.id, at=NOON)
        day = NOON.date()
        assign(db, group.id, Wanted(small.pair_set, day), by=teacher.id, today=day, at=NOON)
        assert coming(db, teacher.id, "teaching") == "weak-spots"
        answers(db, teacher.id, small)
        assert coming(db, teacher.id, "teaching") == "weak-spots", "her own answers are not the class's"
        answers(db, pupil.id, small)
        assert coming(db, teacher.id, "teaching") == "field-test"
