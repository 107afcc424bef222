"""Near-duplicates: found whatever the day, grouped, leaks first; and what a steward says of them."""

from __future__ import annotations

from datetime import date, timedelta
from io import BytesIO
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image
from sqlalchemy import event, select
from sqlalchemy.orm import Session

from drillhall.core.clusters import apart_bits
from drillhall.errors import Invalid, NotFound
from drillhall.pictures import twins
from drillhall.pictures.curated import curated_pictures, mark_checked, take_out
from drillhall.pictures.ingest import fingerprint
from drillhall.store.models.catalogue import CataloguePictureRow, StewardRow
from drillhall.store.models.pictures import PictureRow, PicturesApartRow, RightsRow
from drillhall.store.queries.curating import LookedAt
from drillhall.store.session import Store
from tests.practice.saying import pictures_of
from tests.practice.small_hall import NOON, make_small_hall
from tests.small_catalogue import FORMS, draw

ON = NOON.date()


def look(id_: int, fingerprint: int, *, cluster: str = "", on: date | None = None, use: str = "practice") -> LookedAt:
    return LookedAt(id_, f"picture-{id_}", fingerprint, cluster, on, use, 1)


fingerprints = st.integers(-(1 << 63), (1 << 63) - 1)


@settings(max_examples=80, deadline=None)
@given(st.lists(fingerprints, min_size=2, max_size=12), st.lists(st.sets(st.integers(0, 63), max_size=8), max_size=8), st.randoms())
def test_the_bands_miss_no_near_pair_and_invent_none(seeds: list[int], changes: list[set[int]], dice: Random) -> None:
    """Against every pair compared; near ones are made by turning bits."""
    all_of_them = seeds[:]
    for bits in changes:
        turned = dice.choice(seeds) & (1 << 64) - 1
        for bit in bits:
            turned ^= 1 << bit
        all_of_them.append(turned - (1 << 64) if turned >> 63 else turned)
    prints = dict(enumerate(all_of_them))
    due = {(a, b) for a in prints for b in prints if a < b and apart_bits(prints[a], prints[b]) <= twins.TWIN_BITS}
    found = set(twins.near_pairs(prints, twins.TWIN_BITS))
    assert found <= due
    # Of equal ones the first stands for all, so what is left out is reached over it.
    first_of = {id_: min(other for other in prints if apart_bits(prints[other], prints[id_]) == 0) for id_ in prints}
    assert {tuple(sorted((first_of[a], first_of[b]))) for a, b in due if first_of[a] != first_of[b]} <= found
    assert {(first_of[id_], id_) for id_ in prints if first_of[id_] != id_} <= found


def test_a_picture_resized_and_encoded_anew_is_its_own_twin() -> None:
    """TWIN_BITS is wide enough for what a phone or a mail program does to a picture, and too narrow for another picture."""
    dice = Random(4)
    pictures = [draw(looks, dice)[0] for looks in FORMS.values() for _ in range(3)]
    for picture in pictures:
        small = BytesIO()
        picture.resize((240, 180)).save(small, "JPEG", quality=40)
        assert apart_bits(fingerprint(picture), fingerprint(Image.open(small))) <= twins.TWIN_BITS
    prints = dict(enumerate(map(fingerprint, pictures)))
    assert list(twins.near_pairs(prints, twins.TWIN_BITS)) == []


def test_the_threshold_is_as_rare_by_chance_as_it_says() -> None:
    from scipy.stats import binom  # the reference for the number in the comment

    assert 1 / binom.cdf(twins.TWIN_BITS, 64, 0.5) == pytest.approx(2.2e11, rel=0.05)


def test_likeness_is_wider_on_one_day() -> None:
    eight_apart = (1 << 8) - 1
    days = (date(2031, 3, 1), date(2031, 3, 2))
    assert twins.group_twins([look(1, 0, on=days[0]), look(2, eight_apart, on=days[1])]) == ()
    [group] = twins.group_twins([look(1, 0, on=days[0]), look(2, eight_apart, on=days[0])])
    assert group.ids == (1, 2)


def test_groups_reach_over_pictures_in_between() -> None:
    pictures = [look(1, 0), look(2, 0b111111), look(3, 0b111111111111), look(9, -1)]
    assert [group.ids for group in twins.group_twins(pictures)] == [(1, 2, 3)]


def test_leaks_stand_first() -> None:
    pictures = [look(1, 0), look(2, 1), look(3, -1), look(4, -2, use="held-out")]
    assert [(group.ids, group.is_leak) for group in twins.group_twins(pictures)] == [((3, 4), True), ((1, 2), False)]


def test_one_series_is_settled_unless_it_leaks() -> None:
    settled = [look(1, 0, cluster="a"), look(2, 1, cluster="A")]
    assert twins.group_twins(settled) == ()
    leaking = [look(1, 0, cluster="a"), look(2, -1, cluster="a", use="held-out")]
    assert [group.is_leak for group in twins.group_twins(leaking)] == [True]


def test_what_is_said_to_be_different_is_not_asked_again() -> None:
    pictures = [look(1, 0), look(2, 1), look(3, 2)]
    assert twins.group_twins(pictures, {(1, 2), (1, 3), (2, 3)}) == ()
    assert [group.ids for group in twins.group_twins(pictures, {(1, 2), (1, 3)})] == [(2, 3)]


def test_no_pictures_have_no_twins() -> None:
    assert twins.group_twins([]) == ()


class Kept:
    """A small hall whose fingerprints are far apart but for one practice picture and one held-out one; the stranger is its steward."""

    def __init__(self, db: Session) -> None:
        self.db, self.hall = db, make_small_hall(db)
        self.me = self.hall.stranger
        db.add(StewardRow(catalogue_id=self.hall.catalogue, account_id=self.me))
        dice = Random(2)
        for row in db.scalars(select(PictureRow)):
            row.fingerprint = dice.getrandbits(63)
        self.practice = db.get_one(PictureRow, pictures_of(db, self.hall.forms[0])[0])
        self.held_out = db.get_one(PictureRow, pictures_of(db, self.hall.forms[0], "held-out")[0])
        self.held_out.fingerprint = self.practice.fingerprint ^ 1
        self.names = [self.practice.public_id, self.held_out.public_id]
        db.flush()

    def found(self) -> tuple[twins.Twins, ...]:
        self.db.flush()
        return twins.find_twins(self.db, self.hall.catalogue, self.me, on=ON)


def test_a_leak_is_found_and_mended(store: Store) -> None:
    with store.work() as db:
        kept = Kept(db)
        assert [(group.ids, group.is_leak) for group in kept.found()] == [((kept.practice.id, kept.held_out.id), True)]
        with pytest.raises(Invalid, match="one use"):
            twins.join_twins(db, kept.hall.catalogue, kept.me, kept.names, on=ON)
        twins.join_twins(db, kept.hall.catalogue, kept.me, kept.names, use="practice", on=ON)
        assert (kept.practice.use, kept.held_out.use) == ("practice", "practice")
        assert kept.practice.cluster == kept.held_out.cluster != ""
        assert kept.found() == ()


def test_the_word_of_a_series_that_is_there_stays(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        kept = Kept(db)
        kept.held_out.cluster = "by the sluice"
        twins.join_twins(db, kept.hall.catalogue, kept.me, kept.names, use="held-out", on=ON)
        assert (kept.practice.cluster, kept.practice.use) == ("by the sluice", "held-out")


def test_different_scenes_are_kept_apart_once(store: Store) -> None:
    with store.work() as db:
        kept = Kept(db)
        for _ in range(2):
            twins.keep_apart(db, kept.hall.catalogue, kept.me, kept.names, on=ON, at=NOON)
        assert kept.found() == ()
        [row] = db.scalars(select(PicturesApartRow))
        assert (row.first_picture_id, row.second_picture_id, row.said_by) == (kept.practice.id, kept.held_out.id, kept.me)


@pytest.mark.parametrize("names", [[], ["only one"], ["one", "one"]])
def test_one_picture_is_no_group(sqlite_store: Store, names: list[str]) -> None:
    with sqlite_store.work() as db:
        kept = Kept(db)
        for act in (twins.join_twins, lambda *args, **how: twins.keep_apart(*args, **how, at=NOON)):
            with pytest.raises(Invalid, match="at least 2"):
                act(db, kept.hall.catalogue, kept.me, names, on=ON)


def test_a_picture_of_another_catalogue_is_not_there(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        kept = Kept(db)
        with pytest.raises(NotFound):
            twins.join_twins(db, kept.hall.catalogue, kept.me, [*kept.names, "another"], use="practice", on=ON)
        with pytest.raises(NotFound):
            take_out(db, kept.hall.catalogue + 1, kept.me, kept.names[0], on=ON, at=NOON)
        assert kept.practice.cluster == ""


def test_a_use_that_none_of_them_has_is_refused(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        kept = Kept(db)
        with pytest.raises(Invalid) as told:
            twins.join_twins(db, kept.hall.catalogue, kept.me, kept.names, use="portrait", on=ON)
        assert told.value.field == "use"


def test_a_picture_taken_out_is_no_twin(store: Store) -> None:
    with store.work() as db:
        kept = Kept(db)
        take_out(db, kept.hall.catalogue, kept.me, kept.names[0], on=ON, at=NOON)
        assert kept.found() == ()
        with pytest.raises(NotFound):
            mark_checked(db, kept.hall.catalogue, kept.me, kept.names[0], on=ON, at=NOON)


def test_what_its_rights_keep_from_the_steward_is_not_shown_to_her(store: Store) -> None:
    with store.work() as db:
        kept = Kept(db)
        db.get_one(RightsRow, kept.practice.id).may_until = ON - timedelta(days=1)
        assert kept.found() == ()
        shown = curated_pictures(db, kept.hall.catalogue, kept.me, [kept.practice.id, kept.held_out.id], on=ON)
        assert list(shown) == [kept.held_out.id]


def test_a_label_found_right_is_noted(sqlite_store: Store) -> None:
    with sqlite_store.work() as db:
        kept = Kept(db)
        mark_checked(db, kept.hall.catalogue, kept.me, kept.names[0], on=ON, at=NOON)
        row = db.get_one(CataloguePictureRow, (kept.hall.catalogue, kept.practice.id))
        assert (row.checked_by, row.checked_at) == (kept.me, NOON)


def test_the_number_of_statements_does_not_grow(sqlite_store: Store) -> None:
    seen: list[str] = []
    event.listen(sqlite_store.engine, "before_cursor_execute", lambda *args: seen.append(args[2]))
    counts = []
    with sqlite_store.work() as db:
        kept = Kept(db)
        for alike in (2, 20):
            for row in db.scalars(select(PictureRow).order_by(PictureRow.id).limit(alike)):
                row.fingerprint = 7
            db.flush()
            seen.clear()
            [group] = [group for group in kept.found() if len(group.ids) >= alike]
            assert len(curated_pictures(db, kept.hall.catalogue, kept.me, group.ids, on=ON)) >= alike
            counts.append(len(seen))
    assert counts == [5, 5]
