"""What a catalogue in use lacks, whose pictures it holds and what is offered to it, on both engines."""

from __future__ import annotations

from datetime import timedelta

import pytest
from sqlalchemy import func, select

from drillhall.catalogues.credited import Credited, list_credited
from drillhall.catalogues.wanted import list_wanted, the_catalogue_within_sight
from drillhall.errors import NotFound
from drillhall.pictures.curated import count_open_offers
from drillhall.pictures.looks import list_pairs, the_pair
from drillhall.store.models.catalogue import CataloguePictureRow, CatalogueRow, PairSetRow, StewardRow
from drillhall.store.models.pictures import PictureOfferRow, PictureRow, RightsRow
from drillhall.store.models.practice import SightRow, TallyRow
from drillhall.store.session import Store
from tests.practice.saying import pictures_of
from tests.practice.small_hall import NOON, make_small_hall

ON = NOON.date()


def tally(account_id: int, pair_id: int, shown: int, said: int, count: int) -> TallyRow:
    row = TallyRow(account_id=account_id, pair_id=pair_id, shown_form_id=shown, said_form_id=said, week=203110, fresh=True, prompted=False)
    row.rendition, row.orientation, row.choices, row.count = "as taken", "", 2, count
    return row


def test_what_is_wanted_is_read_from_what_others_are_shown(store: Store) -> None:
    with store.work() as db:
        hall = make_small_hall(db)
        first, second, third, fourth = hall.forms
        for row in db.scalars(select(PictureRow)):
            row.setting = "mud" if row.form_id in (second, fourth) else ""
            row.plumage = ""
        for id_ in pictures_of(db, third):
            db.get_one(CataloguePictureRow, (hall.catalogue, id_)).retired_at = NOON
        ended = pictures_of(db, fourth)[0]
        db.get_one(RightsRow, ended).may_until = ON - timedelta(days=1)
        db.get_one(RightsRow, pictures_of(db, fourth)[1]).may_group = False
        db.add(tally(hall.learner, hall.pairs[2], first, fourth, 3))
        db.add(tally(hall.learner, hall.pairs[2], first, first, 5))
        db.flush()
        wanted = list_wanted(db, hall.catalogue, on=ON)
        assert wanted.of == 4
        assert [one.form.id for one in wanted.forms] == [third, fourth, first, second]
        found = {one.form.id: one for one in wanted.forms}
        assert [found[form].wanted.practice for form in hall.forms] == [12, 12, 0, 10]
        assert [(view.view, view.word, [other.id for other in view.others]) for view in found[first].views] == [
            ("setting", "mud", [second, fourth])
        ]
        assert (found[first].wanted.drilled.missed, found[first].wanted.drilled.shown) == (3, 8)
        assert [other.id for other in found[first].others] == [second, fourth]


def test_a_catalogue_is_within_sight_of_its_stewards_and_of_those_who_drill_from_it(store: Store) -> None:
    with store.work() as db:
        hall = make_small_hall(db)
        assert the_catalogue_within_sight(db, "mudpipers", hall.learner).id == hall.catalogue
        with pytest.raises(NotFound):
            the_catalogue_within_sight(db, "mudpipers", hall.stranger)
        db.add(StewardRow(catalogue_id=hall.catalogue, account_id=hall.stranger))
        db.flush()
        assert the_catalogue_within_sight(db, "mudpipers", hall.stranger).title == "Mudpipers"
        db.get_one(PairSetRow, hall.pair_set).retired_at = NOON
        db.flush()
        with pytest.raises(NotFound):
            the_catalogue_within_sight(db, "mudpipers", hall.learner)
        db.get_one(CatalogueRow, hall.catalogue).retired_at = NOON
        db.flush()
        with pytest.raises(NotFound):
            the_catalogue_within_sight(db, "mudpipers", hall.stranger)


def test_makers_are_counted_with_their_pictures_and_times(store: Store) -> None:
    with store.work() as db:
        hall = make_small_hall(db)
        some = pictures_of(db, hall.forms[0])[:2]
        for id_ in some:
            rights = db.get_one(RightsRow, id_)
            rights.creator, rights.licence = "", ""
            db.add(SightRow(account_id=hall.learner, picture_id=id_, first_at=NOON, last_at=NOON, times=4))
        db.add(SightRow(account_id=hall.stranger, picture_id=some[0], first_at=NOON, last_at=NOON, times=3))
        gone = pictures_of(db, hall.forms[1])[0]
        db.get_one(PictureRow, gone).retired_at = NOON
        db.flush()
        total = db.scalar(select(func.count()).select_from(PictureRow)) or 0
        assert list_credited(db, hall.catalogue) == (
            Credited("A. Stand-in", "CC0 1.0", "https://creativecommons.org/publicdomain/zero/1.0/", total - 3, 0),
            Credited("", "no licence given", "", 2, 11),
        )


def test_open_offers_alone_are_counted(store: Store) -> None:
    with store.work() as db:
        hall = make_small_hall(db)
        first, second, gone = pictures_of(db, hall.forms[0])[:3]
        for id_, decision in ((first, ""), (second, "declined"), (gone, "")):
            db.add(PictureOfferRow(picture_id=id_, catalogue_id=hall.catalogue, offered_at=NOON, decision=decision, note=""))
        db.get_one(PictureRow, gone).retired_at = NOON
        db.flush()
        assert count_open_offers(db, hall.catalogue) == 1
        assert count_open_offers(db, hall.catalogue + 1) == 0


def test_pairs_are_listed_with_their_pictures(store: Store) -> None:
    with store.work() as db:
        hall = make_small_hall(db)
        assert [(pair.drilled.id, pair.of_first, pair.of_second) for pair in list_pairs(db, hall.catalogue, on=ON)] == [
            (pair_id, 12, 12) for pair_id in hall.pairs
        ]
        assert the_pair(db, hall.catalogue, hall.pairs[1], on=ON).first.id == hall.forms[1]
        with pytest.raises(NotFound):
            the_pair(db, hall.catalogue, 999, on=ON)
