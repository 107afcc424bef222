"""What a stage holds: pictures of some poses or distances alone, and more of them once a pair is steady."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import timedelta

from sqlalchemy import select, update
from sqlalchemy.orm import Session

from drillhall.practice.assigning import drillable_pairs
from drillhall.practice.drilling import start_drill
from drillhall.practice.open_questions.asking import the_stock
from drillhall.practice.open_questions.keeping import OpenQuestion
from drillhall.practice.planning import DrillPlan, plan_for
from drillhall.practice.walling import Audience, on_the_wall
from drillhall.store.models.catalogue import CataloguePairRow, StagePairRow, StageRow
from drillhall.store.models.people import AccountRow
from drillhall.store.models.pictures import PictureRow, RightsRow
from drillhall.store.models.practice import MemoryRow, RoundRow, ShowingRow
from drillhall.store.session import Store
from tests.practice.small_hall import NOON, SmallHall, make_small_hall
from tests.practice.test_assigning import a_group

TODAY = NOON.date()


def posed(db: Session, form_id: int, *, flying: int, use: str = "practice") -> None:
    """Say of so many pictures of a form that it flies, of the others that it swims."""
    ids = db.scalars(select(PictureRow.id).where(PictureRow.form_id == form_id, PictureRow.use == use).order_by(PictureRow.id)).all()
    for place, picture_id in enumerate(ids):
        pose = "flying" if place < flying else "swimming"
        db.execute(update(PictureRow).where(PictureRow.id == picture_id).values(pose=pose, distance="far" if place < flying else "near"))


def a_hall(db: Session, *, poses: Iterable[str] = (), distances: Iterable[str] = (), flying: int = 6) -> SmallHall:
    hall = make_small_hall(db)
    for form in hall.forms:
        posed(db, form, flying=flying)
    db.execute(update(StageRow).values(poses=list(poses), distances=list(distances)))
    return hall


def plan(db: Session, hall: SmallHall) -> DrillPlan:
    return plan_for(db, db.get_one(AccountRow, hall.learner), today=TODAY)


def shown(db: Session, hall: SmallHall, pair_id: int | None = None) -> set[tuple[str, str]]:
    """The poses and distances of what a drill shows, of one pair or of all."""
    drill = start_drill(db, hall.learner, drill_id="01890000-0000-7000-8000-000000000001", at=NOON)
    query = (
        select(PictureRow.pose, PictureRow.distance)
        .join(ShowingRow, ShowingRow.picture_id == PictureRow.id)
        .join(RoundRow)
        .where(RoundRow.drill_id == drill)
    )
    if pair_id is not None:
        query = query.where(RoundRow.pair_id == pair_id)
    return {(pose, distance) for pose, distance in db.execute(query)}


def test_a_stage_that_names_poses_shows_those_alone(store: Store) -> None:
    with store.work() as db:
        hall = a_hall(db, poses=["Swimming"])
        assert shown(db, hall) == {("swimming", "near")}


def test_a_stage_that_names_distances_shows_those_alone(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        hall = a_hall(db, distances=["far"])
        assert shown(db, hall) == {("flying", "far")}


def test_a_stage_that_names_nothing_shows_all(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        hall = a_hall(db)
        assert shown(db, hall) == {("flying", "far"), ("swimming", "near")}


def test_a_pair_of_which_one_form_has_no_such_picture_rests(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        hall = a_hall(db, poses=["flying"])
        posed(db, hall.forms[3], flying=0)
        made = plan(db, hall)
    assert set(made.pairs) == set(hall.pairs[:2])
    assert made.without_pictures == 1


def test_a_pose_and_a_distance_must_meet_on_one_picture(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        hall = a_hall(db, poses=["flying"], distances=["near"])
        assert plan(db, hall).pairs == {}


def in_two_stages(db: Session) -> SmallHall:
    """The first pair on the water in its first stage, and in flight in a later one."""
    hall = a_hall(db)
    stages = db.scalars(select(StageRow).order_by(StageRow.place)).all()
    stages[0].poses, stages[1].poses = ["swimming"], ["flying"]
    entry = db.scalars(select(CataloguePairRow.id).where(CataloguePairRow.pair_id == hall.pairs[0])).one()
    db.add(StagePairRow(stage_id=stages[1].id, catalogue_pair_id=entry, place=9))
    db.flush()
    return hall


def test_a_pair_is_drilled_on_the_water_first(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        hall = in_two_stages(db)
        assert list(plan(db, hall).pairs).count(hall.pairs[0]) == 1, "once, though two stages hold it"
        assert shown(db, hall, hall.pairs[0]) == {("swimming", "near")}


def test_and_in_flight_as_well_once_it_is_steady(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        hall = in_two_stages(db)
        row = MemoryRow(account_id=hall.learner, pair_id=hall.pairs[0], stability_days=20.0, difficulty=5.0, rounds=4, held_running=4)
        row.last_day, row.due_day, row.last_outcome = TODAY - timedelta(days=1), TODAY, "held"
        db.add(row)
        db.flush()
        stages = plan(db, hall).stages[hall.pairs[0]]
    assert [set(stage.poses) for stage in stages] == [{"swimming"}, {"flying"}]


def test_a_stage_without_pictures_holds_nobody_up(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        hall = in_two_stages(db)
        posed(db, hall.forms[0], flying=99)  # of one form of the first pair nothing swims
        group = a_group(db, hall.stranger, hall.learner)
        stages = plan(db, hall).stages[hall.pairs[0]]
        assert [set(stage.poses) for stage in stages] == [{"flying"}], "the later stage asks it"
        assert hall.pairs[0] in {pair.id for pair in drillable_pairs(db, group, hall.pair_set, on=TODAY)}
        posed(db, hall.forms[1], flying=0)  # and of the other nothing flies: now no stage has both
        assert hall.pairs[0] not in plan(db, hall).pairs
        assert hall.pairs[0] not in {pair.id for pair in drillable_pairs(db, group, hall.pair_set, on=TODAY)}


def test_a_group_s_pair_rests_where_its_first_stage_has_no_picture_that_the_group_may_be_shown(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        hall = a_hall(db, poses=["flying"])
        posed(db, hall.forms[3], flying=0)
        found = drillable_pairs(db, a_group(db, hall.stranger, hall.learner), hall.pair_set, on=TODAY)
    assert [pair.id for pair in found] == list(hall.pairs[:2])


def for_all(db: Session) -> None:
    """Let everybody see every picture."""
    db.execute(update(PictureRow).values(described_at=NOON))
    db.execute(update(RightsRow).values(may_public=True, may_paid=True, licence_url="https://creativecommons.org/publicdomain/zero/1.0/"))


def a_question(hall: SmallHall) -> OpenQuestion:
    told = {"title": "A bird a day", "zone": "UTC", "sites": (), "feed_id": "", "group": "", "set": "", "ended_at": None}
    return OpenQuestion(id=1, public_id="q", first_day=TODAY, today=TODAY, set_id=hall.pair_set, is_paid=False, is_running=True, **told)  # type: ignore[arg-type]  # the words say nothing here


def on_a_wall(db: Session, hall: SmallHall) -> list[tuple[str, int, int]]:
    """The pose, the pair and the id of each picture on the wall, in order."""
    found: list[tuple[str, int, int]] = []
    pictures = 1
    while len(found) < pictures:
        seen = on_the_wall(db, hall.pair_set, Audience(), throw=1, place=len(found), told=False, viewer_id=hall.stranger, on=TODAY)
        assert seen.picture is not None
        assert seen.pair is not None
        row = db.scalars(select(PictureRow).where(PictureRow.public_id == seen.picture.public_id)).one()
        found.append((row.pose, seen.pair.id, row.id))
        pictures = seen.pictures
    return found


def test_a_wall_goes_stage_by_stage_and_shows_what_each_holds(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        hall = in_two_stages(db)
        for_all(db)
        shown_there = [(pose, picture) for pose, pair, picture in on_a_wall(db, hall) if pair == hall.pairs[0]]
    poses = [pose for pose, _ in shown_there]
    assert poses == sorted(poses, reverse=True), "swimming first, flying later"
    assert set(poses) == {"swimming", "flying"}
    assert len({picture for _, picture in shown_there}) == len(shown_there)


def test_an_open_question_draws_what_a_stage_of_the_pair_holds(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        hall = a_hall(db, poses=["flying"])
        posed(db, hall.forms[3], flying=0)
        for_all(db)
        offers = the_stock(db, a_question(hall)).offers
        flying = set(db.scalars(select(PictureRow.id).where(PictureRow.pose == "flying")))
    assert {offer.pair_id for offer in offers} == set(hall.pairs[:2]), "the third rests"
    assert {picture for offer in offers for picture in (*offer.first, *offer.second)} <= flying
