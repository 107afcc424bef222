"""Who may have a picture: every kind of viewer against every kind of picture, and how long it may be kept."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta
from pathlib import Path

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from drillhall.core.licences import LICENCES, WITH_PERMISSION
from drillhall.core.rights import Purpose, Rights
from drillhall.core.values import Use
from drillhall.errors import NotFound
from drillhall.pictures.ingest import add_picture, take
from drillhall.pictures.serving import may_see, the_file, the_open_file
from drillhall.pictures.storage import FolderStorage
from drillhall.store.models.catalogue import CataloguePictureRow, CatalogueRow
from drillhall.store.models.concepts import PairRow
from drillhall.store.models.groups import GroupRow, MembershipRow
from drillhall.store.models.pictures import FileRow, PictureOfferRow, PictureRow, PictureShareRow, RightsRow
from drillhall.store.models.practice import DrillRow, RoundRow, ShowingRow
from drillhall.store.session import Store
from tests.pictures.drawn import NOW, OPEN, PRIVATE, PUBLIC_ID, accept, add_account, add_catalogue, add_form, opened, saved, scene

DAY = date(2031, 5, 4)
TAKEN = take(saved(scene()))
PERMITTED = Rights("Ada Mudd", WITH_PERMISSION, "Ada Mudd", agreed=frozenset({Purpose.GROUP}))
UNPAID = Rights("Ada Mudd", LICENCES["CC-BY-NC-4.0"], "Ada Mudd")
ENDED = replace(PERMITTED, until=DAY - timedelta(days=1))


class Hall:
    """A store and a storage with an owner, a stranger, a steward of a catalogue and a steward of another one."""

    def __init__(self, store: Store, folder: Path) -> None:
        self.store, self.storage = store, FolderStorage(folder)
        with store.work() as db:
            self.people = {name: add_account(db, name) for name in ("owner", "stranger", "steward", "other steward")}
            self.people["visitor"] = None
            self.catalogue = add_catalogue(db, steward_id=self.people["steward"])
            add_catalogue(db, key="other", steward_id=self.people["other steward"])

    def add(self, rights: Rights = OPEN, use: Use = Use.PRACTICE, *, accepted: bool = True) -> None:
        with self.store.work() as db:
            owner = self.people["owner"]
            shown = add_picture(db, self.storage, TAKEN, public_id=PUBLIC_ID, owner_id=owner, form_id=None, rights=rights, at=NOW, use=use)
            if accepted:
                accept(db, self.catalogue, shown)

    def share(self, *, paid: bool = False, ended: str = "") -> None:
        """Share the picture with a group of owner and stranger; `ended` says what of it is over: share, membership or group."""
        with self.store.work() as db:
            group = GroupRow(public_id="group", title="Flats Club", is_paid=paid, made_at=NOW, retired_at=NOW if ended == "group" else None)
            db.add(group)
            db.flush()
            until = NOW if ended == "membership" else None
            for name in ("owner", "stranger"):
                db.add(MembershipRow(group_id=group.id, account_id=self.people[name], since=NOW, until=until))
            share = PictureShareRow(picture_id=db.scalars(select(PictureRow.id)).one(), group_id=group.id, shared_at=NOW)
            share.ended_at = NOW if ended == "share" else None
            db.add(share)

    def recipe(self, size: str = "large") -> str:
        with self.store.look() as db:
            return db.scalars(select(FileRow.recipe).where(FileRow.size_name == size)).one()

    def seen_by(self, on: date = DAY) -> set[str]:
        seen = set()
        with self.store.look() as db:
            for name, viewer in self.people.items():
                try:
                    the_file(db, self.storage, public_id=PUBLIC_ID, recipe=self.recipe(), viewer_id=viewer, on=on, at=NOW)
                except NotFound:
                    continue
                seen.add(name)
        return seen


@pytest.fixture
def hall(store: Store, tmp_path: Path) -> Hall:
    return Hall(store, tmp_path / "pictures")


EVERYBODY = {"owner", "stranger", "steward", "other steward"}


@pytest.mark.parametrize(
    ("rights", "use", "accepted", "seen_by"),
    [
        (OPEN, Use.PRACTICE, True, EVERYBODY),
        (OPEN, Use.PORTRAIT, True, EVERYBODY),
        (OPEN, Use.PRACTICE, False, {"owner"}),
        (PRIVATE, Use.PRACTICE, True, {"owner"}),
        (PRIVATE, Use.PRACTICE, False, {"owner"}),
        (PERMITTED, Use.PRACTICE, True, EVERYBODY),
        (ENDED, Use.PRACTICE, True, set()),
        (OPEN, Use.HELD_OUT, True, {"steward"}),
        (PRIVATE, Use.HELD_OUT, True, set()),
        (PERMITTED, Use.HELD_OUT, True, {"steward"}),
        (ENDED, Use.HELD_OUT, True, set()),
        (OPEN, Use.HELD_OUT, False, set()),
    ],
)
def test_who_sees_what(hall: Hall, rights: Rights, use: Use, accepted: bool, seen_by: set[str]) -> None:
    hall.add(rights, use, accepted=accepted)
    assert hall.seen_by() == seen_by


@pytest.mark.parametrize(
    ("rights", "use", "columns", "is_shown"),
    [
        (OPEN, Use.PRACTICE, {}, True),
        (OPEN, Use.HELD_OUT, {}, False),
        (OPEN, Use.PORTRAIT, {}, False),
        (OPEN, Use.PRACTICE, {"retired_at": NOW}, False),
        (OPEN, Use.PRACTICE, {"described_at": None}, False),
        (PERMITTED, Use.PRACTICE, {}, False),
        (PRIVATE, Use.PRACTICE, {}, False),
    ],
)
def test_an_open_question_shows_no_picture_but_what_is_for_practice_and_for_anybody(
    hall: Hall, rights: Rights, use: Use, columns: dict[str, datetime | None], is_shown: bool
) -> None:
    hall.add(rights, use)
    with hall.store.work() as db:
        for name, value in columns.items():
            setattr(db.scalars(select(PictureRow)).one(), name, value)
    recipe, shown = hall.recipe(), True
    with hall.store.look() as db:
        try:
            the_open_file(db, hall.storage, public_id=PUBLIC_ID, recipe=recipe, on=DAY)
        except NotFound:
            shown = False
    assert shown is is_shown


@pytest.mark.parametrize("what", ["picture", "holding", "catalogue"])
def test_what_is_retired_is_shown_to_nobody_but_an_owner_whose_picture_stays(hall: Hall, what: str) -> None:
    hall.add()
    with hall.store.work() as db:
        row = {"picture": PictureRow, "holding": CataloguePictureRow, "catalogue": CatalogueRow}[what]
        for one in db.scalars(select(row)):
            one.retired_at = NOW
    assert hall.seen_by() == (set() if what == "picture" else {"owner"})


def test_a_picture_whose_owner_is_gone_stays_with_its_catalogue_and_goes_to_no_visitor(hall: Hall) -> None:
    hall.add()
    with hall.store.work() as db:
        db.scalars(select(PictureRow)).one().owner_id = None
    assert hall.seen_by() == EVERYBODY


def test_the_bytes_are_the_size_that_was_asked_for(hall: Hall) -> None:
    hall.add()
    with hall.store.look() as db:
        who = {"viewer_id": hall.people["stranger"], "on": DAY, "at": NOW}
        large, small = (the_file(db, hall.storage, public_id=PUBLIC_ID, recipe=hall.recipe(size), **who) for size in ("large", "small"))
    assert (opened(large.content).size, opened(small.content).size) == ((800, 600), (640, 480))
    assert large.media_type == "image/webp"


def test_the_original_is_served_to_nobody_not_even_its_owner(hall: Hall) -> None:
    hall.add()
    with hall.store.look() as db, pytest.raises(NotFound):
        the_file(db, hall.storage, public_id=PUBLIC_ID, recipe=hall.recipe("original"), viewer_id=hall.people["owner"], on=DAY, at=NOW)


@pytest.mark.parametrize(
    ("public_id", "recipe"),
    [(PUBLIC_ID, "0" * 32), (PUBLIC_ID, ""), (PUBLIC_ID, "../large"), ("nobody", "0" * 32), ("\0", "\0"), ("-" * 99, "0" * 32)],
)
def test_an_address_that_names_nothing_is_not_found_alike(hall: Hall, public_id: str, recipe: str) -> None:
    hall.add()
    with hall.store.look() as db, pytest.raises(NotFound, match=r"^There is no such picture, or it is not yours to see\.$"):
        the_file(db, hall.storage, public_id=public_id, recipe=recipe, viewer_id=hall.people["owner"], on=DAY, at=NOW)


@pytest.mark.parametrize(("days", "kept_days"), [(None, 7), (30, 7), (7, 7), (3, 3), (0, 0)])
def test_it_may_be_kept_for_seven_days_or_what_is_left_of_a_permission(hall: Hall, days: int | None, kept_days: int) -> None:
    hall.add(replace(PERMITTED, until=None if days is None else DAY + timedelta(days=days)))
    with hall.store.look() as db:
        who = {"viewer_id": hall.people["stranger"], "on": DAY, "at": NOW}
        served = the_file(db, hall.storage, public_id=PUBLIC_ID, recipe=hall.recipe(), **who)
    assert served.cacheable_seconds == kept_days * 86_400


def test_bytes_that_are_gone_while_the_row_stays_are_not_found(hall: Hall) -> None:
    hall.add()
    for key in list(hall.storage.keys()):
        hall.storage.delete(key)
    assert hall.seen_by() == set()


MEMBERS = {"owner", "stranger"}


@pytest.mark.parametrize(
    ("rights", "paid", "what", "seen_by"),
    [
        (OPEN, False, "", MEMBERS),
        (OPEN, True, "", MEMBERS),
        (UNPAID, False, "", MEMBERS),
        (UNPAID, True, "", {"owner"}),
        (PERMITTED, False, "", MEMBERS),
        (PERMITTED, True, "", {"owner"}),
        (PRIVATE, False, "", {"owner"}),
        (ENDED, False, "", set()),
        (OPEN, False, "share", {"owner"}),
        (OPEN, False, "membership", {"owner"}),
        (OPEN, False, "group", {"owner"}),
    ],
)
def test_a_group_sees_what_is_shared_with_it_as_long_as_it_is(hall: Hall, rights: Rights, paid: bool, what: str, seen_by: set[str]) -> None:
    hall.add(rights, accepted=False)
    hall.share(paid=paid, ended=what)
    assert hall.seen_by() == seen_by


def test_a_steward_sees_what_is_offered_to_her_until_it_is_decided(hall: Hall) -> None:
    hall.add(accepted=False)
    with hall.store.work() as db:
        db.add(PictureOfferRow(picture_id=db.scalars(select(PictureRow.id)).one(), catalogue_id=hall.catalogue, offered_at=NOW))
    assert hall.seen_by() == {"owner", "steward"}
    with hall.store.work() as db:
        db.scalars(select(PictureOfferRow)).one().decision = "declined"
    assert hall.seen_by() == {"owner"}


def test_what_is_not_described_yet_is_its_owners_alone(hall: Hall) -> None:
    hall.add()
    with hall.store.work() as db:
        db.scalars(select(PictureRow)).one().described_at = None
    assert hall.seen_by() == {"owner"}


@pytest.mark.parametrize("rendition", ["cut", "far off", "shape only"])
@pytest.mark.parametrize(
    ("rights", "seen_by"),
    [
        (OPEN, EVERYBODY),
        (Rights("Ada Mudd", LICENCES["CC-BY-ND-4.0"], "Ada Mudd"), {"owner"}),
        (Rights("Ada Mudd", LICENCES["CC-BY-ND-3.0"], "Ada Mudd"), set()),
        (PERMITTED, set()),
        (replace(PERMITTED, agreed=frozenset({Purpose.GROUP, Purpose.ALTERED})), EVERYBODY),
        (PRIVATE, set()),
    ],
)
def test_an_altered_file_follows_what_may_be_altered(hall: Hall, rights: Rights, rendition: str, seen_by: set[str]) -> None:
    hall.add(rights)
    with hall.store.work() as db:
        db.scalars(select(FileRow).where(FileRow.size_name == "large")).one().rendition = rendition
    assert hall.seen_by() == seen_by


@pytest.mark.parametrize(("hours", "ended", "kept_hours"), [(30, False, 30), (14 * 24, False, 7 * 24), (30, True, 7 * 24)])
def test_it_is_kept_no_longer_than_the_drill_that_shows_it(hall: Hall, hours: int, ended: bool, kept_hours: int) -> None:
    hall.add()
    viewer = hall.people["stranger"]
    assert viewer is not None
    with hall.store.work() as db:
        add_open_drill(db, viewer, hall.catalogue, until=NOW + timedelta(hours=hours), ended_at=NOW if ended else None)
    with hall.store.look() as db:
        served = the_file(db, hall.storage, public_id=PUBLIC_ID, recipe=hall.recipe(), viewer_id=viewer, on=DAY, at=NOW)
    assert served.cacheable_seconds == kept_hours * 3600


def add_open_drill(db: Session, account_id: int, catalogue_id: int, *, until: datetime, ended_at: datetime | None) -> None:
    forms = sorted((add_form(db), add_form(db, "Flatpiper")))
    pair = PairRow(first_form_id=forms[0], second_form_id=forms[1])
    drill = DrillRow(id="drill", account_id=account_id, zone="UTC", planned_at=NOW, planned_day=DAY, until=until, ended_at=ended_at)
    drill.minutes, drill.showing_ms, drill.pace_ms = 10, 8000, 4000
    db.add_all((pair, drill))
    db.flush()
    of_hers = {"account_id": account_id, "place": 0}
    round_ = RoundRow(drill_id=drill.id, pair_id=pair.id, catalogue_id=catalogue_id, why="new", rounds_before=0, **of_hers)
    db.add(round_)
    db.flush()
    picture_id = db.scalars(select(PictureRow.id)).one()
    shown = {"round_id": round_.id, "picture_id": picture_id, "form_id": forms[0], "first_sight": True, "fresh": True, "asks": []}
    db.add(ShowingRow(**shown, **of_hers))


@pytest.mark.parametrize(("who", "sees"), [("other steward", True), ("stranger", False), ("visitor", False)])
def test_a_held_out_picture_is_seen_by_those_it_is_offered_to_before_they_accept(hall: Hall, who: str, sees: bool) -> None:
    hall.add(use=Use.HELD_OUT, accepted=False)
    with hall.store.work() as db:
        picture = db.scalars(select(PictureRow)).one()
        other = db.scalars(select(CatalogueRow).where(CatalogueRow.key == "other")).one()
        db.add(PictureOfferRow(picture_id=picture.id, catalogue_id=other.id, offered_at=NOW))
    with hall.store.look() as db:
        found = db.execute(select(PictureRow, RightsRow).join(RightsRow, RightsRow.picture_id == PictureRow.id)).one()
        assert may_see(db, found[0], found[1], viewer_id=hall.people[who], on=DAY) is sees
