"""Rounds to look through: as a newcomer would get them, from the catalogue's own pictures alone, and nothing kept."""

from __future__ import annotations

from random import Random

from sqlalchemy import delete, select, update

from drillhall.core.rounds.day import USUAL_ROUND
from drillhall.core.stages import StagePictures
from drillhall.core.values import Use
from drillhall.practice.packets import RoundView
from drillhall.practice.previewing import preview_rounds
from drillhall.store.models.catalogue import CataloguePairRow, CataloguePictureRow
from drillhall.store.models.pictures import FileRow, PictureRow
from drillhall.store.models.practice import DrillRow, RoundRow, ShowingRow, SightRow
from drillhall.store.session import Store
from tests.practice.rows import rows_of
from tests.practice.small_hall import NOON, SmallHall
from tests.practice.test_staged import posed

ANY = StagePictures()
KEYS = ("pair-0", "pair-1", "pair-2")


def rounds_of(store: Store, hall: SmallHall, *keys: str, throw: int = 0, stage: StagePictures = ANY) -> tuple[RoundView, ...]:
    with store.look() as db:
        wanted = [(key, stage) for key in keys or KEYS]
        return preview_rounds(db, hall.stranger, hall.catalogue, wanted, on=NOON.date(), now=NOON, dice=Random(throw))


def shown(rounds: tuple[RoundView, ...]) -> set[str]:
    return {showing.picture.public_id for one in rounds for showing in one.showings}


def test_each_pair_is_met_and_asked_as_by_a_newcomer(sqlite_store: Store, quick_hall: SmallHall) -> None:
    rounds = rounds_of(sqlite_store, quick_hall)
    assert [one.pair.id for one in rounds] == list(quick_hall.pairs)
    assert all(one.meet and len(one.showings) == USUAL_ROUND for one in rounds)
    kinds = [[question.kind for question in showing.questions] for showing in rounds[0].showings]
    assert ["trait", "form"] in kinds  # a prompt comes first while a pair is new
    assert all(one[-1] == "form" for one in kinds)


def test_nothing_is_kept(sqlite_store: Store, quick_hall: SmallHall) -> None:
    rounds_of(sqlite_store, quick_hall)
    with sqlite_store.look() as db:
        assert [rows_of(db, table) for table in (DrillRow, RoundRow, ShowingRow, SightRow)] == [[], [], [], []]


def test_one_throw_of_the_dice_gives_the_same_rounds(sqlite_store: Store, quick_hall: SmallHall) -> None:
    assert rounds_of(sqlite_store, quick_hall, throw=4) == rounds_of(sqlite_store, quick_hall, throw=4)
    assert len({frozenset(shown(rounds_of(sqlite_store, quick_hall, throw=throw))) for throw in range(5)}) > 1


def test_only_practice_pictures_that_the_catalogue_holds_are_shown(sqlite_store: Store, quick_hall: SmallHall) -> None:
    with sqlite_store.work() as db:
        taken_out = list(db.scalars(select(PictureRow.id).where(PictureRow.use == Use.PRACTICE.value, PictureRow.id % 2 == 0)))
        db.execute(update(CataloguePictureRow).where(CataloguePictureRow.picture_id.in_(taken_out)).values(retired_at=NOON))
        db.execute(
            update(PictureRow).where(PictureRow.id.in_(taken_out)).values(owner_id=quick_hall.stranger)
        )  # hers, yet not the catalogue's
        held = select(PictureRow.public_id).where(PictureRow.use == Use.PRACTICE.value, PictureRow.id % 2 == 1)
        allowed = set(db.scalars(held))
    for throw in range(5):
        assert shown(rounds_of(sqlite_store, quick_hall, throw=throw)) <= allowed


def test_a_pair_without_pictures_of_both_forms_is_left_out(sqlite_store: Store, quick_hall: SmallHall) -> None:
    with sqlite_store.work() as db:
        db.execute(update(PictureRow).where(PictureRow.form_id == quick_hall.forms[1]).values(retired_at=NOON))
    assert [one.pair.id for one in rounds_of(sqlite_store, quick_hall)] == [quick_hall.pairs[2]]


def test_retired_and_unknown_pairs_are_left_out(sqlite_store: Store, quick_hall: SmallHall) -> None:
    with sqlite_store.work() as db:
        db.execute(update(CataloguePairRow).where(CataloguePairRow.key == "pair-0").values(retired_at=NOON))
    assert [one.pair.id for one in rounds_of(sqlite_store, quick_hall, "pair-2", "nobody", "pair-0")] == [quick_hall.pairs[2]]


def test_a_picture_whose_files_are_gone_is_passed_over(sqlite_store: Store, quick_hall: SmallHall) -> None:
    with sqlite_store.work() as db:
        db.execute(delete(FileRow))
    assert all(one.showings == () for one in rounds_of(sqlite_store, quick_hall))


def test_a_set_s_round_shows_what_its_stage_holds(sqlite_store: Store, quick_hall: SmallHall) -> None:
    swimming = StagePictures(frozenset({"swimming"}))
    with sqlite_store.work() as db:
        for form in quick_hall.forms[:3]:
            posed(db, form, flying=6)
        posed(db, quick_hall.forms[3], flying=100)
        swims = set(db.scalars(select(PictureRow.public_id).where(PictureRow.pose == "swimming")))
    rounds = rounds_of(sqlite_store, quick_hall, stage=swimming)
    assert [one.pair.id for one in rounds] == list(quick_hall.pairs[:2])
    assert shown(rounds) <= swims
    assert not shown(rounds_of(sqlite_store, quick_hall)) <= swims
