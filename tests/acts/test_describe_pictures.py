"""Describing several pictures at once: what is left alone, what contradicts, what goes together, and answers given before."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import select

from drillhall.acts.describe_pictures import describe_pictures
from drillhall.core.rights import Rights
from drillhall.core.values import Use
from drillhall.errors import BadPicture, BadRights, Conflict, Invalid
from drillhall.pictures.describing import MOST_AT_ONCE, Described, Description, FormSaid
from drillhall.pictures.ingest import take
from drillhall.pictures.sent import keep_sent
from drillhall.pictures.storage import FolderStorage
from drillhall.pictures.withdrawing import retire_picture
from drillhall.store.models.catalogue import CataloguePictureRow, CatalogueRow, StewardRow
from drillhall.store.models.concepts import FormRow, NameRow, VernacularRow
from drillhall.store.models.pictures import LabelChangeRow, PictureRow, RightsRow
from drillhall.store.session import Store
from tests.pictures.drawn import NOW, OPEN, add_account, add_catalogue, add_form, saved, scene

TODAY = date(2031, 5, 4)
TAKEN = take(saved(scene(400, 300)))


class Room:
    """A learner with three sent pictures that look nothing alike, a stranger with one, and a catalogue of three forms."""

    def __init__(self, store: Store, folder: Path) -> None:
        self.store, self.storage, self.made = store, FolderStorage(folder), 0
        with store.work() as db:
            self.learner, self.stranger = add_account(db, "learner"), add_account(db, "stranger")
            self.winter = add_form(db, "Mudpiper", life_stage="adult", plumage="winter")
            self.young = add_form(db, "Mudpiper", life_stage="juvenile")
            self.stilt = add_form(db, "Long Stilt")
            add_catalogue(db, form_ids=(self.winter, self.young, self.stilt))
        self.ids = [self.send(fingerprint=0x5555_5555 << (16 * place)) for place in range(3)]

    def send(self, owner: int = 0, **taken: Any) -> str:
        self.made += 1
        public_id = f"{self.made:08x}-6a1d-4c53-9d5e-2f7a8b9c0d1e"
        one = replace(TAKEN, content_sha256=f"{self.made:064x}", **taken)
        with self.store.work() as db:
            keep_sent(db, self.storage, one, public_id=public_id, owner_id=owner or self.learner, at=NOW)
        return public_id

    def say(self, *ids: str, by: int = 0, **said: Any) -> Described:
        with self.store.work() as db:
            asked = {"account_id": by or self.learner, "public_ids": ids, "said": Description(**said), "at": NOW, "on": TODAY}
            return describe_pictures(db, self.storage, **asked)

    def row(self, public_id: str) -> PictureRow:
        with self.store.look() as db:
            return db.scalars(select(PictureRow).where(PictureRow.public_id == public_id)).one()


@pytest.fixture
def room(sqlite_store: Store, tmp_path: Path) -> Room:
    return Room(sqlite_store, tmp_path / "pictures")


def test_what_is_said_is_said_of_all_chosen_and_of_no_other(room: Room) -> None:
    first, second, third = room.ids
    done = room.say(first, second, form=FormSaid(room.stilt), orientation="left", pose="feeding", typical=False)
    assert done == Described(2, 0)
    for public_id in (first, second):
        row = room.row(public_id)
        assert (row.form_id, row.orientation, row.pose, row.typical, row.described_at) == (room.stilt, "left", "feeding", False, NOW)
        assert row.alt == "Photograph for this question, seen on its left side."
    assert (room.row(third).form_id, room.row(third).described_at) == (None, None)


def test_what_is_left_stays_and_an_empty_word_takes_away(room: Room) -> None:
    (first, *_) = room.ids
    room.say(first, form=FormSaid(room.stilt), pose="feeding", setting="mud", alt="One bird on mud.")
    room.say(first, pose="", sex="female", taken_on=date(2031, 1, 2))
    row = room.row(first)
    assert (row.form_id, row.pose, row.setting, row.sex, row.taken_on) == (room.stilt, "", "mud", "female", date(2031, 1, 2))
    room.say(first, orientation="right")
    assert room.row(first).alt == "One bird on mud."
    room.say(first, alt="")
    assert room.row(first).alt == "Photograph for this question, seen on its right side."


def test_one_of_two_and_not_sure_are_kept_without_a_form(room: Room) -> None:
    first, second, _ = room.ids
    room.say(first, form=FormSaid(room.winter, room.young))
    room.say(second, form=FormSaid())
    row = room.row(first)
    assert (row.form_id, row.either_form_id, row.or_form_id, row.described_at) == (None, room.winter, room.young, NOW)
    assert (room.row(second).form_id, room.row(second).described_at) == (None, NOW)
    room.say(first, form=FormSaid(room.young))
    row = room.row(first)
    assert (row.form_id, row.either_form_id, row.or_form_id) == (room.young, None, None)


def test_rights_said_without_a_form_leave_the_pictures_waiting(room: Room) -> None:
    room.say(*room.ids, rights=OPEN)
    assert [room.row(public_id).described_at for public_id in room.ids] == [None] * 3
    with room.store.look() as db:
        assert [(row.creator, row.may_group) for row in db.scalars(select(RightsRow))] == [("Ada Mudd", True)] * 3


@pytest.mark.parametrize(
    ("said", "field", "told"),
    [
        ({}, "form", "Say something"),
        ({"form": FormSaid(9999)}, "form", "from the list"),
        ({"form": FormSaid(1, 9999)}, "or_form", "from the list"),
        ({"form": FormSaid(None, 1)}, "form", "the first of the two"),
        ({"form": FormSaid(1, 1)}, "or_form", "two different forms"),
        ({"form": FormSaid(1), "life_stage": "juvenile"}, "life_stage", "life stage “adult”, and the life stage says “juvenile”"),
        ({"form": FormSaid(1), "plumage": "summer"}, "plumage", "Mudpiper"),
        ({"sex": "both"}, "sex", "which sex"),
        ({"life_stage": "teenager"}, "life_stage", "which life stage"),
        ({"orientation": "sideways"}, "orientation", "from where"),
        ({"medium": "Film"}, "medium", "a photograph or a drawing"),
        ({"taken_on": TODAY + timedelta(days=1)}, "taken_on", "lies ahead"),
        ({"taken_on": date(1825, 12, 31)}, "taken_on", "before there was photography"),
        ({"alt": "One \u202eon mud"}, "alt", "cannot be kept"),
        ({"pose": "fee\x07ding"}, "pose", "cannot be kept"),
        ({"pose": "x" * 41}, "pose", "longer than 40"),
        ({"alt": "a\0b"}, "alt", "cannot be kept"),
        ({"form": FormSaid(1), "alt": "A mudpiper on mud"}, "alt", "give it away"),
    ],
)
def test_what_is_wrong_names_its_field_and_nothing_is_said_of_any(room: Room, said: dict[str, Any], field: str, told: str) -> None:
    assert (room.winter, room.young) == (1, 2)
    with pytest.raises(Invalid, match=told) as caught:
        room.say(*room.ids, **said, **({"setting": "water"} if said else {}))
    assert caught.value.field == field
    assert {(room.row(one).form_id, room.row(one).setting, room.row(one).described_at) for one in room.ids} == {(None, "", None)}


@pytest.mark.parametrize("alt", ["A long  stilt on mud", "A LONG\tSTILT", "One Calidris  Longstiltus, left", "Ein Langstelz"])
def test_no_name_of_a_form_stands_in_its_words_however_spaced(room: Room, alt: str) -> None:
    with room.store.work() as db:
        concept = db.get_one(FormRow, room.stilt).concept_id
        db.add(NameRow(concept_id=concept, according_to="Another list", scientific_name="Calidris longstiltus"))
        db.add(VernacularRow(concept_id=concept, language="de", name="Langstelz"))
    with pytest.raises(Invalid, match="give it away"):
        room.say(room.ids[0], form=FormSaid(room.stilt), alt=alt)
    room.say(room.ids[0], form=FormSaid(room.stilt), alt="One on long legs, on mud")


def test_wrong_rights_leave_the_form_unsaid_too(room: Room) -> None:
    with pytest.raises(BadRights):
        room.say(*room.ids, form=FormSaid(room.stilt), rights=Rights(licence=OPEN.licence))
    assert room.row(room.ids[0]).form_id is None


def test_a_word_that_the_form_says_too_is_no_contradiction(room: Room) -> None:
    room.say(room.ids[0], form=FormSaid(room.winter), life_stage="adult", plumage="Winter", sex="male")
    assert room.row(room.ids[0]).sex == "male"


def test_a_later_form_is_held_against_what_was_seen_before(room: Room) -> None:
    room.say(room.ids[0], form=FormSaid(room.stilt), life_stage="juvenile")
    with pytest.raises(Invalid, match="juvenile"):
        room.say(room.ids[0], form=FormSaid(room.winter))


def test_only_ones_own_pictures_in_use_are_described(room: Room) -> None:
    other = room.send(room.stranger)
    with pytest.raises(Conflict):
        room.say(room.ids[0], other, form=FormSaid(room.stilt))
    with room.store.work() as db:
        retire_picture(db, account_id=room.learner, public_id=room.ids[1], at=NOW)
    with pytest.raises(Conflict):
        room.say(room.ids[1], form=FormSaid(room.stilt))
    assert room.row(room.ids[0]).form_id is None
    for ids, told in (((), "at least one"), ([f"{number:036x}" for number in range(MOST_AT_ONCE + 1)], "at most")):
        with pytest.raises(Invalid, match=told):
            room.say(*ids, form=FormSaid(room.stilt))


def test_a_series_goes_to_one_use_and_those_along_are_counted(room: Room) -> None:
    first, second, third = room.ids
    room.say(first, second, cluster="pond")
    assert room.say(first, use=Use.PORTRAIT) == Described(1, 1)
    assert [room.row(one).use for one in room.ids] == ["portrait", "portrait", "practice"]
    assert room.say(third, cluster="POND") == Described(1, 1)
    assert room.row(third).use == "portrait"


def test_near_twins_of_one_day_go_to_one_use_and_of_two_days_need_not(room: Room) -> None:
    one = room.send(fingerprint=0b1111, taken_on=TODAY)
    twin = room.send(fingerprint=0, taken_on=TODAY)
    later = room.send(fingerprint=0, taken_on=TODAY - timedelta(days=1))
    assert room.say(one, form=FormSaid(room.stilt), use=Use.HELD_OUT) == Described(1, 1)
    assert (room.row(twin).use, room.row(later).use) == ("held-out", "practice")
    fresh = room.send(fingerprint=0b11, taken_on=TODAY)
    assert room.say(fresh, form=FormSaid(room.stilt)) == Described(1, 1)
    assert room.row(fresh).use == "held-out"


def test_what_a_program_made_up_becomes_no_photograph_by_being_called_a_drawing_first(room: Room) -> None:
    made_up = {"source_type": "http://cv.iptc.org/newscodes/digitalsourcetype/trainedAlgorithmicMedia"}
    with pytest.raises(BadPicture, match="generated"):
        room.send(found=made_up)
    with room.store.work() as db:
        row = db.scalars(select(PictureRow).where(PictureRow.public_id == room.ids[0])).one()
        row.found, row.medium = made_up, "Diagram"
    room.say(room.ids[0], pose="standing")
    with pytest.raises(BadPicture, match="generated"):
        room.say(room.ids[0], medium="Photograph")


def test_another_form_is_kept_as_a_correction_only_where_one_was_said_before(room: Room) -> None:
    room.say(room.ids[0], form=FormSaid(room.stilt))
    with room.store.look() as db:
        assert db.scalars(select(LabelChangeRow)).all() == []
    room.say(room.ids[0], form=FormSaid(room.young))
    with room.store.look() as db:
        assert [(row.from_form_id, row.to_form_id) for row in db.scalars(select(LabelChangeRow))] == [(room.stilt, room.young)]


def test_what_a_catalogue_holds_keeps_the_use_that_its_stewards_gave_it(room: Room) -> None:
    held, other, _ = room.ids
    room.say(held, other, cluster="one morning", form=FormSaid(room.winter))
    with room.store.work() as db:
        catalogue_id = db.scalars(select(CatalogueRow.id)).one()
        row = db.scalars(select(PictureRow).where(PictureRow.public_id == held)).one()
        db.add(CataloguePictureRow(catalogue_id=catalogue_id, picture_id=row.id, file="held.webp"))
        row.use = "held-out"
    for chosen in (held, other):
        with pytest.raises(Invalid, match="its stewards use it as “field tests”") as refused:
            room.say(chosen, use=Use.PRACTICE)
        assert refused.value.field == "use"
    room.say(held, other, pose="feeding")
    assert [room.row(id_).use for id_ in (held, other)] == ["held-out", "held-out"]
    with room.store.work() as db:
        db.add(StewardRow(catalogue_id=catalogue_id, account_id=room.learner))
    room.say(held, use=Use.PRACTICE)
    assert [room.row(id_).use for id_ in (held, other)] == ["practice", "practice"]
