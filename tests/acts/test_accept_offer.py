"""Offers to a catalogue: who may offer, accept, decline and take back, and what becomes of label, use and scene."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest
from sqlalchemy import event, select
from sqlalchemy.orm import Session

from drillhall.acts.accept_offer import accept_offer
from drillhall.core.licences import read_licence
from drillhall.core.rights import Rights
from drillhall.core.values import Use
from drillhall.errors import Conflict, Invalid, NotFound
from drillhall.pictures import accepting, offers
from drillhall.pictures.accepting import Acceptance
from drillhall.pictures.ingest import rights_row
from drillhall.practice.folding import rebuild
from drillhall.practice.lore import lore_of_pairs
from drillhall.practice.needs import list_candidates
from drillhall.store.models.catalogue import CatalogueFormRow, CataloguePictureRow, CatalogueRow
from drillhall.store.models.pictures import FileRow, LabelChangeRow, PictureRow, RightsRow
from drillhall.store.models.practice import RoundRow, ShowingRow
from drillhall.store.session import Store
from tests.practice.playing import play
from tests.practice.rows import folded
from tests.practice.small_hall import NOON, SmallHall, make_small_hall

DAY, LATER = NOON.date(), NOON + timedelta(days=1)
OPEN = Rights("Ottilie", read_licence("CC-BY-4.0"), "Ottilie")


class Room:
    """A small hall in which the learner owns a picture of the first form and the stranger is steward."""

    def __init__(self, store: Store) -> None:
        self.store = store
        with store.work() as db:
            self.hall: SmallHall = make_small_hall(db)
            self.picture, self.public_id = self.add(db, 901)
            other = CatalogueRow(key="other", title="Other", subject="bird", list_name="L", made_at=NOON, changed_at=NOON)
            db.add(other)
            db.flush()
            self.other = other.id

    def add(self, db: Session, number: int, rights: Rights = OPEN) -> tuple[int, str]:
        row = PictureRow(
            public_id=f"00000000-0000-7000-8000-{number:012d}",
            owner_id=self.hall.learner,
            form_id=self.hall.forms[0],
            width_px=960,
            height_px=640,
            content_sha256=f"{number:064x}",
            fingerprint=number,
            made_at=NOON,
            described_at=NOON,
        )
        db.add(row)
        db.flush()
        said = rights_row(rights)
        said.picture_id = row.id
        size = {"width_px": 960, "height_px": 640, "bytes": 1}
        key = f"{number:032x}"
        db.add_all([said, FileRow(picture_id=row.id, size_name="large", recipe=key, storage_key=key, media_type="image/webp", **size)])
        db.flush()
        return row.id, row.public_id

    def offer(self, db: Session, public_id: str = "", *, by: int = 0, catalogue: int = 0) -> int:
        to, who = catalogue or self.hall.catalogue, by or self.hall.learner
        return offers.offer_picture(db, owner_id=who, public_id=public_id or self.public_id, catalogue_id=to, on=DAY, at=NOON)

    def accept(self, db: Session, offer: int, *, catalogue: int = 0, **said: object) -> str:
        told = replace(Acceptance(self.hall.forms[0]), **said)  # type: ignore[arg-type]
        return accept_offer(db, offer, told, catalogue_id=catalogue or self.hall.catalogue, by=self.hall.stranger, on=DAY, at=LATER)

    def decline(self, db: Session, offer: int, *, catalogue: int = 0, note: str = "") -> None:
        to = catalogue or self.hall.catalogue
        accepting.decline(db, offer, catalogue_id=to, by_id=self.hall.stranger, note=note, at=LATER)

    def take_back(self, db: Session, offer: int, *, by: int = 0, public_id: str = "") -> None:
        who, named = by or self.hall.learner, public_id or self.public_id
        offers.take_back(db, offer, owner_id=who, public_id=named, at=LATER)

    def mine(self, db: Session) -> offers.OfferOfMine:
        return offers.list_offers_of(db, owner_id=self.hall.learner, public_id=self.public_id)[0]

    def drilled_by(self, db: Session, who: int) -> dict[int, bool]:
        lores = lore_of_pairs(db, self.hall.catalogue, self.hall.pairs)
        return {one.picture_id: one.own for one in list_candidates(db, who, self.hall.catalogue, lores.values(), on=DAY)}


@pytest.fixture
def room(store: Store) -> Room:
    return Room(store)


def test_an_accepted_picture_is_drilled_by_everybody(room: Room) -> None:
    with room.store.work() as db:
        assert room.picture not in room.drilled_by(db, room.hall.stranger)
        offer = room.offer(db)
        listed = accepting.list_open_offers(db, room.hall.catalogue, on=DAY)
        assert [(one.id, one.owner, one.licence, one.may_now) for one in listed] == [(offer, "Ottilie", "CC BY 4.0", True)]
        file = room.accept(db, offer, note="Fine light")
        assert file == "form-0-offered-1.webp"
        assert room.picture in room.drilled_by(db, room.hall.stranger)
        assert room.drilled_by(db, room.hall.learner)[room.picture], "to her it is never a first sight"
        told = room.mine(db)
        assert (told.decision, told.note, told.is_held) == ("accepted", "Fine light", True)
        assert accepting.list_open_offers(db, room.hall.catalogue, on=DAY) == ()
        row = db.get_one(CataloguePictureRow, (room.hall.catalogue, room.picture))
        assert (row.accepted_by, row.retired_at) == (room.hall.stranger, None)


def test_a_name_is_made_that_no_picture_bears_or_bore(room: Room) -> None:
    with room.store.work() as db:
        first = db.scalars(select(CataloguePictureRow)).first()
        assert first is not None
        first.file, first.retired_at = "Form-0-offered-1.webp", NOON
        _, second = room.add(db, 902)
        assert room.accept(db, room.offer(db)) == "form-0-offered-2.webp"
        assert room.accept(db, room.offer(db, second)) == "form-0-offered-3.webp"


@pytest.mark.parametrize("use", [Use.HELD_OUT, Use.PORTRAIT])
def test_what_is_not_for_practice_leaves_its_owners_own_drill(room: Room, use: Use) -> None:
    with room.store.work() as db:
        assert room.picture in room.drilled_by(db, room.hall.learner)
        room.accept(db, room.offer(db), use=use)
        assert room.picture not in room.drilled_by(db, room.hall.learner)
        assert room.picture not in room.drilled_by(db, room.hall.stranger)
        assert room.mine(db).use == use
        room.take_back(db, room.mine(db).id)
        is_drilled = room.picture in room.drilled_by(db, room.hall.learner)
        assert is_drilled == (use is Use.HELD_OUT), "held out, it is hers to drill again; a portrait stays one"
        assert db.get_one(PictureRow, room.picture).use == ("practice" if use is Use.HELD_OUT else "portrait")
        assert room.picture not in room.drilled_by(db, room.hall.stranger)


def test_a_label_is_corrected_as_it_is_accepted_and_her_answers_judged_anew(room: Room) -> None:
    with room.store.work() as db:
        for row in db.scalars(select(PictureRow).where(PictureRow.id != room.picture, PictureRow.form_id == room.hall.forms[0])):
            row.retired_at = NOON
        play(db, room.hall.learner, at=NOON)
        shown = db.scalars(select(ShowingRow).join(RoundRow).where(ShowingRow.picture_id == room.picture)).all()
        assert shown
        before = folded(db)
        room.accept(db, room.offer(db), form_id=room.hall.forms[1])
        assert db.get_one(PictureRow, room.picture).form_id == room.hall.forms[1]
        assert db.scalars(select(LabelChangeRow)).one().to_form_id == room.hall.forms[1]
        after = folded(db)
        assert after["tally"] != before["tally"]
        rebuild(db)
        assert folded(db) == after


def test_declined_with_a_word_and_offered_again(room: Room) -> None:
    with room.store.work() as db:
        offer = room.offer(db)
        room.decline(db, offer, note="Too dark")
        assert (room.mine(db).decision, room.mine(db).note) == ("declined", "Too dark")
        for decide in (room.accept, room.decline):
            with pytest.raises(Conflict, match="declined already"):
                decide(db, offer)
        with pytest.raises(Conflict, match="declined already"):
            room.take_back(db, offer)
        room.accept(db, room.offer(db))


def test_what_was_withdrawn_can_be_offered_and_accepted_again(room: Room) -> None:
    with room.store.work() as db:
        first = room.accept(db, room.offer(db))
        room.take_back(db, room.mine(db).id)
        with pytest.raises(Conflict, match="taken back already"):
            room.take_back(db, room.mine(db).id)
        assert room.accept(db, room.offer(db)) == first


def test_an_open_offer_is_taken_back(room: Room) -> None:
    with room.store.work() as db:
        offer = room.offer(db)
        room.take_back(db, offer)
        with pytest.raises(Conflict, match="taken back already"):
            room.accept(db, offer)


@contextmanager
def counted(store: Store) -> Iterator[list[str]]:
    """Yield a list that fills with every statement that the work sends to the database."""
    seen: list[str] = []

    def note(*args: object) -> None:
        seen.append(str(args[2]))

    event.listen(store.engine, "before_cursor_execute", note)
    try:
        yield seen
    finally:
        event.remove(store.engine, "before_cursor_execute", note)


def test_lists_of_offers_and_of_catalogues_take_as_many_statements_however_long(room: Room) -> None:
    counts: list[tuple[int, int]] = []
    with room.store.work() as db:
        _, third = room.add(db, 903)
    for more in (1, 12):
        with room.store.work() as db:
            for number in range(more):
                room.offer(db, room.add(db, 1000 * more + number)[1])
                other = CatalogueRow(key=f"{more}-{number}", title="Z", subject="bird", list_name="L", made_at=NOON, changed_at=NOON)
                db.add(other)
                db.flush()
                db.add(CatalogueFormRow(catalogue_id=other.id, form_id=room.hall.forms[0], key="one"))
        with room.store.work() as db, counted(room.store) as seen:
            assert len(accepting.list_open_offers(db, room.hall.catalogue, on=DAY)) >= more
            first = len(seen)
            assert len(offers.list_catalogues_for(db, owner_id=room.hall.learner, public_id=third, on=DAY)) > more
            counts.append((first, len(seen) - first))
    assert counts[0] == counts[1]
    assert min(counts[0]) > 0


def test_a_name_is_looked_for_among_its_like_alone(room: Room) -> None:
    with room.store.work() as db:
        offer = room.offer(db)
        with counted(room.store) as seen:
            room.accept(db, offer)
        names = [one for one in seen if "catalogue_picture.file" in one and "lower(" in one]
        assert len(names) == 1
        assert not [one for one in seen if one.startswith("SELECT catalogue_picture.file ") and "lower(" not in one]


def held_by_another_catalogue(room: Room, db: Session, use: str = "held-out") -> None:
    """Let the other catalogue, of which nobody here is steward, hold the picture for a use, in a scene."""
    db.add(CatalogueFormRow(catalogue_id=room.other, form_id=room.hall.forms[0], key="one"))
    db.add(CataloguePictureRow(catalogue_id=room.other, picture_id=room.picture, file="one.webp"))
    picture = db.get_one(PictureRow, room.picture)
    picture.use, picture.cluster = use, "s9"
    db.flush()


@pytest.mark.parametrize(
    ("said", "field"),
    [({"use": Use.PRACTICE, "cluster": "s9"}, "use"), ({"use": Use.HELD_OUT, "cluster": ""}, "cluster"), ({"form_id": 1}, "form")],
)
def test_what_another_catalogue_holds_keeps_its_use_its_scene_and_its_label(room: Room, said: dict[str, Any], field: str) -> None:
    with room.store.work() as db:
        held_by_another_catalogue(room, db)
        offer = room.offer(db)
    if "form_id" in said:
        said = {"use": Use.HELD_OUT, "cluster": "s9", "form_id": room.hall.forms[1]}
    with pytest.raises(Invalid) as refused, room.store.work() as db:
        room.accept(db, offer, **said)
    assert refused.value.field == field
    with room.store.work() as db:
        room.accept(db, offer, use=Use.HELD_OUT, cluster="s9")
        assert db.get_one(PictureRow, room.picture).use == "held-out"


def twice(room: Room, db: Session) -> None:
    room.offer(db)
    room.offer(db)


def held(room: Room, db: Session) -> None:
    room.accept(db, room.offer(db))
    room.offer(db)


def anothers(room: Room, db: Session) -> None:
    room.offer(db, by=room.hall.stranger)


def to_nowhere(room: Room, db: Session) -> None:
    room.offer(db, catalogue=999)


def to_one_without_the_form(room: Room, db: Session) -> None:
    room.offer(db, catalogue=room.other)


def without_rights(room: Room, db: Session) -> None:
    room.offer(db, room.add(db, 903, Rights())[1])


def in_anothers_catalogue(room: Room, db: Session) -> None:
    room.accept(db, room.offer(db), catalogue=room.other)


def declined_in_anothers(room: Room, db: Session) -> None:
    room.decline(db, room.offer(db), catalogue=room.other)


def back_by_a_stranger(room: Room, db: Session) -> None:
    room.take_back(db, room.offer(db), by=room.hall.stranger)


def back_under_another_picture(room: Room, db: Session) -> None:
    room.take_back(db, room.offer(db), public_id=room.add(db, 904)[1])


def withdrawn_meanwhile(room: Room, db: Session) -> None:
    offer = room.offer(db)
    db.get_one(PictureRow, room.picture).retired_at = NOON
    room.accept(db, offer)


def rights_gone_meanwhile(room: Room, db: Session) -> None:
    offer, row = room.offer(db), db.get_one(RightsRow, room.picture)
    row.licence = row.licence_url = ""
    row.may_group = False
    room.accept(db, offer)


def of_no_such_form(room: Room, db: Session) -> None:
    room.accept(db, room.offer(db), form_id=999)


def with_a_long_note(room: Room, db: Session) -> None:
    room.accept(db, room.offer(db), note="x" * 301)


def one_scene_on_both_sides(room: Room, db: Session) -> None:
    drilled = db.scalars(select(PictureRow).where(PictureRow.use == "practice", PictureRow.id != room.picture)).first()
    assert drilled is not None
    drilled.cluster = "sluice at noon"
    room.accept(db, room.offer(db), use=Use.HELD_OUT, cluster="sluice at noon")


@pytest.mark.parametrize(
    ("refused", "error"),
    [
        (twice, Conflict),
        (held, Conflict),
        (anothers, NotFound),
        (to_nowhere, NotFound),
        (to_one_without_the_form, Invalid),
        (without_rights, Invalid),
        (in_anothers_catalogue, NotFound),
        (declined_in_anothers, NotFound),
        (back_by_a_stranger, NotFound),
        (back_under_another_picture, NotFound),
        (withdrawn_meanwhile, NotFound),
        (rights_gone_meanwhile, Invalid),
        (of_no_such_form, Invalid),
        (with_a_long_note, Invalid),
        (one_scene_on_both_sides, Invalid),
    ],
)
def test_it_is_refused(room: Room, refused: Callable[[Room, Session], None], error: type[Exception]) -> None:
    with pytest.raises(error), room.store.work() as db:
        refused(room, db)
    with room.store.look() as db:
        assert db.get(CataloguePictureRow, (room.hall.catalogue, room.picture)) is None
        assert db.get_one(PictureRow, room.picture).use == "practice"
        assert db.scalars(select(LabelChangeRow)).all() == []
