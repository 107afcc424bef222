"""Everybody reads the names of the list that she has chosen, on every page that tells her of forms, and leaves other readers theirs."""

from __future__ import annotations

from datetime import timedelta

import pytest
from sqlalchemy import select, update
from sqlalchemy.orm import Session

from drillhall.practice import drill_end, rarity, shelf, today, walling
from drillhall.practice.assigning import the_assignment
from drillhall.practice.eve_sheet import the_eve_sheet
from drillhall.practice.field_tests.comparing import compared
from drillhall.practice.field_tests.pages import the_question
from drillhall.practice.field_tests.results import class_results, own_results, questions_told
from drillhall.practice.outings import OutingSaid, plan_outing, the_outing
from drillhall.practice.reader import ANYBODY, Reader, names_for
from drillhall.practice.readiness import the_readiness
from drillhall.practice.weak_spots.counting import Chosen
from drillhall.practice.weak_spots.pupil import the_pupil_spots
from drillhall.practice.weak_spots.report import the_weak_spots
from drillhall.practice.weak_spots.seeing import the_own
from drillhall.store.models.concepts import ConceptRow, NameRow
from drillhall.store.models.field_tests import FieldTestRow
from drillhall.store.models.people import AccountRow
from drillhall.store.models.pictures import PictureRow
from drillhall.store.session import Store
from tests.practice.field_tests.classroom import UNTIL, a_test, begun, make_classroom, sit, wrongly
from tests.practice.playing import play
from tests.practice.small_hall import NOON, SmallHall
from tests.practice.test_assigning import OUTING, TODAY
from tests.practice.test_readiness import given
from tests.practice.weak_spots.classes import BEGAN, Said, keep, make_class
from tests.practice.weak_spots.classes import TODAY as WHEN

OTHER = "Another List"


def choose(db: Session, *account_ids: int) -> None:
    """Let people read by another list, which has a name of its own for every concept."""
    for concept in db.scalars(select(ConceptRow.id)).all():
        db.add(NameRow(concept_id=concept, according_to=OTHER, scientific_name=f"Aliavis {concept}"))
    for account_id in account_ids:
        db.get_one(AccountRow, account_id).list_name = OTHER
    db.flush()


def test_what_a_drill_came_to_and_what_to_look_at_again(sqlite_store: Store, quick_hall: SmallHall) -> None:
    with sqlite_store.work() as db:
        choose(db, quick_hall.learner)
        packet = play(db, quick_hall.learner, at=NOON, knows=lambda view, question: question.kind != "form", sure="certain")
        end = drill_end.the_drill_end(db, quick_hall.learner, packet.drill_id, now=NOON)
        again = today.the_today(db, quick_hall.learner, now=NOON + timedelta(hours=1)).look_again
    assert end.mixed
    assert all(form is None or form.scientific_name.startswith("Aliavis") for mix in end.mixed for form in (mix.shown, mix.said))
    assert again is not None
    assert again.explained.truth.scientific_name.startswith("Aliavis")


def test_a_set_handed_on_and_a_rarity_drill(sqlite_store: Store, quick_hall: SmallHall) -> None:
    hall = quick_hall
    with sqlite_store.work() as db:
        choose(db, hall.learner)
        wish = rarity.RarityWish(hall.pairs[0], hall.forms[1], 4, 20)
        rare = rarity.the_rarity(db, hall.learner, rarity.start_rarity(db, hall.learner, wish, drill_id="a", at=NOON), now=NOON)
        hers, his = (shelf.the_shared_set(db, account_id, hall.pair_set) for account_id in (hall.learner, hall.stranger))
    assert rare.pair.first.scientific_name.startswith("Aliavis")
    assert all(pair.first.scientific_name.startswith("Aliavis") for stage in hers.stages for pair in stage.pairs)
    assert all(pair.first.scientific_name.startswith("Fictavis") for stage in his.stages for pair in stage.pairs)


def test_a_wall_is_in_the_names_of_whoever_puts_it_up(sqlite_store: Store, quick_hall: SmallHall) -> None:
    hall, audience = quick_hall, walling.Audience(is_paid=False, is_public=False)
    shown = {}
    with sqlite_store.work() as db:
        choose(db, hall.learner)
        db.execute(update(PictureRow).values(described_at=NOON))
        for viewer in (hall.learner, hall.stranger):
            shown[viewer] = walling.on_the_wall(
                db, hall.pair_set, audience, throw=1, place=0, told=False, viewer_id=viewer, on=NOON.date()
            ).pair
    hers, his = shown[hall.learner], shown[hall.stranger]
    assert hers is not None
    assert his is not None
    assert hers.first.scientific_name.startswith("Aliavis")
    assert his.first.scientific_name.startswith("Fictavis")


@pytest.mark.parametrize("chosen", [True, False])
def test_how_far_a_group_is_and_its_eve_sheet(sqlite_store: Store, chosen: bool) -> None:
    with sqlite_store.work() as db:
        hall, group, number, _ = given(db, 2)
        choose(db, hall.stranger)
        reader = names_for(db, hall.stranger) if chosen else ANYBODY
        told = the_readiness(db, group, "club", the_assignment(db, group, number), today=TODAY, reader=reader)
        said = OutingSaid("Spring tide", OUTING, "The old quay", assignment_id=number)
        outing = the_outing(db, group, plan_outing(db, group, said, by=hall.stranger, today=TODAY, at=NOON))
        sheet = the_eve_sheet(db, group, "club", outing, today=OUTING, reader=reader)
    for pairs in (told.pairs, sheet.pairs):
        assert pairs
        assert all(one.pair.first.scientific_name.startswith("Aliavis") is chosen for one in pairs)


def test_weak_spots_of_a_group_and_of_one(sqlite_store: Store) -> None:
    reader = Reader(list_name=OTHER)
    with sqlite_store.work() as db:
        made = make_class(db, forms=5, learners=1)
        one, other = made.forms[:2]
        keep(db, [Said(made.learners[0], made.pair_of(one, other), one, other, BEGAN + timedelta(days=3)) for _ in range(9)])
        choose(db)
        page = the_weak_spots(db, made.group, "teacher", Chosen(), today=WHEN, reader=reader)
        pupil = the_pupil_spots(db, made.group, the_own(db, made.group, made.learners[0]), today=WHEN, reader=reader)
    assert page.spots
    assert all(form.scientific_name.startswith("Aliavis") for form in page.forms.values())
    assert pupil.spots
    assert all(spot.shown.scientific_name.startswith("Aliavis") for spot in (*page.spots, *pupil.spots))


def test_a_field_test_asks_in_the_sitters_names_and_tells_whoever_set_it_in_hers(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        room = make_classroom(db, pupils=2)
        first, second = room.pupils
        test_id = a_test(db, room)
        choose(db, first, room.hall.stranger)
        asked = [the_question(db, pupil, begun(db, pupil, test_id), 1, at=NOON) for pupil in (first, second)]
        sit(db, first, test_id, wrongly)
        row, reader = db.get_one(FieldTestRow, test_id), names_for(db, room.hall.stranger)
        row.released_at = UNTIL
        results = class_results(db, row, kind="class", is_paid=False, at=UNTIL, reader=reader)
        lines = questions_told(db, row, results.marked, with_pictures=False, at=UNTIL, reader=reader)
        own = own_results(db, first, test_id, at=UNTIL)
        again = compared(db, row, row, kind="class", is_paid=False, at=UNTIL, reader=reader)
    assert [one is not None and one.pair.first.scientific_name.split()[0] for one in asked] == ["Aliavis", "Fictavis"]
    told = [*results.pairs, *lines, *own[0].pairs, *again.questions]
    assert len(told) > len(results.pairs) + len(lines)
    assert all(one.pair.first.scientific_name.startswith("Aliavis") for one in told)
