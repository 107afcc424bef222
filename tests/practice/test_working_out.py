"""Working out a form: the chances follow the traits and the stewards' words, and a set that is not hers is not there."""

from __future__ import annotations

import pytest
from sqlalchemy import select

from drillhall.errors import Invalid, NotFound
from drillhall.practice.working_out import WorkedOut, list_sets_to_read, work_out
from drillhall.store.models.catalogue import CatalogueFormRow, FormMeasureRow, StateRow, TraitRow
from drillhall.store.models.people import AccountRow
from drillhall.store.session import Store
from tests.practice.small_hall import NOON, SmallHall


def worked(store: Store, hall: SmallHall, said: dict[str, str], *, evenly: bool = False) -> WorkedOut:
    with store.look() as db:
        return work_out(db, hall.learner, hall.pair_set, said, evenly=evenly, now=NOON)


def test_it_begins_with_the_trait_that_tells_most(sqlite_store: Store, quick_hall: SmallHall) -> None:
    page = worked(sqlite_store, quick_hall, {})
    # The bill parts two and two with "always", the legs three and one with "usually".
    assert [one.trait.key for one in page.traits] == ["bill", "legs"]
    assert page.look_next is not None
    assert page.look_next.key == "bill"
    assert {round(one.chance, 6) for one in page.forms} == {0.25}


def test_what_was_seen_moves_the_chances_and_the_next_trait(sqlite_store: Store, quick_hall: SmallHall) -> None:
    page = worked(sqlite_store, quick_hall, {"bill": "curved", "legs": ""})
    # "always" is .98, so each straight-billed form keeps .02 / (2 x .98 + 2 x .02) = .01.
    assert [round(one.chance, 3) for one in page.forms] == [0.49, 0.49, 0.01, 0.01]
    assert {page.forms[0].form.id, page.forms[1].form.id} == {quick_hall.forms[1], quick_hall.forms[3]}
    assert page.look_next is not None
    assert page.look_next.key == "legs"
    assert page.seen == 1


def test_the_stewards_words_stand_before_the_traits(sqlite_store: Store, quick_hall: SmallHall) -> None:
    with sqlite_store.work() as db:
        rows = db.scalars(select(CatalogueFormRow).order_by(CatalogueFormRow.place)).all()
        rows[1].commonness, rows[3].commonness = "very rare", "common"
    page = worked(sqlite_store, quick_hall, {"bill": "curved"})
    assert page.forms[0].form.id == quick_hall.forms[3]
    assert page.forms[0].common == "common"
    assert page.forms[0].chance > 0.9
    assert 0 < next(one.chance for one in page.forms if one.form.id == quick_hall.forms[1]) < 0.02
    assert [round(one.chance, 3) for one in worked(sqlite_store, quick_hall, {"bill": "curved"}, evenly=True).forms][:2] == [0.49, 0.49]


def test_a_state_may_be_named_in_other_words(sqlite_store: Store, quick_hall: SmallHall) -> None:
    with sqlite_store.work() as db:
        db.scalars(select(StateRow).where(StateRow.key == "curved")).one().also_called = ["bent down"]
    assert next(one.seen for one in worked(sqlite_store, quick_hall, {"bill": "Bent  down"}).traits) == "curved"


def test_a_word_that_means_no_state_is_named_with_its_trait(sqlite_store: Store, quick_hall: SmallHall) -> None:
    with pytest.raises(Invalid, match="mark one of straight, curved") as refused:
        worked(sqlite_store, quick_hall, {"bill": "hooked"})
    assert refused.value.field == "bill"


def test_what_is_no_trait_is_passed_over(sqlite_store: Store, quick_hall: SmallHall) -> None:
    assert worked(sqlite_store, quick_hall, {"no trait": "x"}).seen == 0


def test_a_set_that_is_not_hers_is_not_there(sqlite_store: Store, quick_hall: SmallHall) -> None:
    with sqlite_store.look() as db:
        assert list_sets_to_read(db, quick_hall.stranger, now=NOON) == ()
        with pytest.raises(NotFound):
            work_out(db, quick_hall.stranger, quick_hall.pair_set, {}, now=NOON)


def test_colours_that_look_alike_to_her_come_last_and_are_not_asked_next(sqlite_store: Store, quick_hall: SmallHall) -> None:
    with sqlite_store.work() as db:
        db.get_one(AccountRow, quick_hall.learner).colour_vision = "red-green"
        bill = db.scalars(select(TraitRow).where(TraitRow.key == "bill")).one()
        bill.kind = "colour"
    page = worked(sqlite_store, quick_hall, {})
    # Neither trait's states carry a colour, so neither can be trusted: both are told, none is asked for.
    assert all(one.hard_to_see for one in page.traits)
    assert page.look_next is None


def test_a_set_without_a_word_on_traits_says_nothing(sqlite_store: Store, quick_hall: SmallHall) -> None:
    with sqlite_store.work() as db:
        for row in db.scalars(select(TraitRow)):
            row.retired_at = NOON
    page = worked(sqlite_store, quick_hall, {"bill": "curved"})
    assert page.traits == ()
    assert page.look_next is None


def measure(store: Store, hall: SmallHall) -> None:
    """Let three of the four forms be measured by the bill, the first two far apart."""
    with store.work() as db:
        bill = db.scalars(select(TraitRow).where(TraitRow.key == "bill")).one()
        bill.unit = "mm"
        entries = {row.form_id: row.id for row in db.scalars(select(CatalogueFormRow))}
        for form_id, mean in zip(hall.forms[:3], (30.0, 60.0, 60.0), strict=True):
            db.add(FormMeasureRow(catalogue_form_id=entries[form_id], trait_id=bill.id, mean=mean, spread=2.0))


def test_a_value_in_the_hand_takes_the_place_of_a_mark(sqlite_store: Store, quick_hall: SmallHall) -> None:
    measure(sqlite_store, quick_hall)
    with sqlite_store.look() as db:
        page = work_out(db, quick_hall.learner, quick_hall.pair_set, {"bill": "curved"}, measured={"bill": 30.5, "tail": 3.0}, now=NOON)
    assert page.forms[0].form.id == quick_hall.forms[0]
    # Densities 1, .001 and .001 (the least), and their mean for the form that nobody has measured.
    assert page.forms[0].chance == pytest.approx(1 / (1 + 0.002 + 1.002 / 3), abs=1e-6)
    assert (page.seen, page.surprise) == (1, False)
    assert [(one.trait.key, one.value) for one in page.measures] == [("bill", 30.5)]
    assert next(one for one in page.traits if one.trait.key == "bill").seen == ""
    assert page.look_next is not None
    assert page.look_next.key == "legs"
    assert "licensed ringers" in page.in_the_hand


def test_a_value_that_no_form_measures_is_a_surprise_and_one_beyond_measure_is_refused(sqlite_store: Store, quick_hall: SmallHall) -> None:
    measure(sqlite_store, quick_hall)
    with sqlite_store.look() as db:
        assert work_out(db, quick_hall.learner, quick_hall.pair_set, {}, measured={"bill": 45.0}, now=NOON).surprise
        with pytest.raises(Invalid, match="no measure"):
            work_out(db, quick_hall.learner, quick_hall.pair_set, {}, measured={"bill": 1e40}, now=NOON)


def test_without_measures_nothing_is_said_of_the_hand(sqlite_store: Store, quick_hall: SmallHall) -> None:
    page = worked(sqlite_store, quick_hall, {})
    assert (page.measures, page.in_the_hand) == ((), "")
