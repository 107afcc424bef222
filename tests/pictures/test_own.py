"""One's own pictures: what may be said of them, who sees each and why, withdrawing."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest
from sqlalchemy import select

from drillhall.core.licences import WITH_PERMISSION
from drillhall.core.rights import Purpose, Rights
from drillhall.core.values import Use
from drillhall.errors import BadPicture, Invalid, NotFound
from drillhall.pictures.ingest import add_picture, take
from drillhall.pictures.labels import list_forms
from drillhall.pictures.listing import A_PAGE, list_own_pictures
from drillhall.pictures.own import WhatItShows, add_own_picture, list_known_forms
from drillhall.pictures.storage import FolderStorage
from drillhall.pictures.told import known_forms
from drillhall.pictures.withdrawing import retire_picture
from drillhall.store.models.catalogue import CatalogueRow, PairSetRow, TakenSetRow
from drillhall.store.models.concepts import FormRow, NameRow, VernacularRow
from drillhall.store.models.pictures import MarkRow, PictureRow
from drillhall.store.session import Store
from drillhall.words import speak
from tests.pictures.drawn import NOW, OPEN, PRIVATE, accept, add_account, add_catalogue, add_form, saved, scene

DAY = date(2031, 5, 4)
TAKEN = take(saved(scene(400, 300)))


class Room:
    """A learner, two catalogues with a form each, and a storage."""

    def __init__(self, store: Store, folder: Path) -> None:
        self.store, self.storage, self.made = store, FolderStorage(folder), 0
        with store.work() as db:
            self.learner, self.stranger = add_account(db, "learner"), add_account(db, "stranger")
            self.dunlin = add_form(db, "Mudpiper", life_stage="adult", plumage="winter")
            self.daisy = add_form(db, "Silt daisy")
            self.waders = add_catalogue(db, key="waders", form_ids=(self.dunlin,))
            add_catalogue(db, key="flowers", form_ids=(self.daisy,))

    def next_id(self) -> str:
        self.made += 1
        return f"{self.made:08x}-6a1d-4c53-9d5e-2f7a8b9c0d1e"

    def add(self, shown: WhatItShows, rights: Rights = PRIVATE, by: int | None = None, content: str = "") -> int:
        taken = replace(TAKEN, content_sha256=content or f"{self.made:064x}")
        with self.store.work() as db:
            return add_own_picture(
                db, self.storage, taken, shown, public_id=self.next_id(), owner_id=by or self.learner, rights=rights, at=NOW
            )

    def seen_by(self, on: date = DAY) -> list[str]:
        with self.store.look() as db:
            return [one.seen_by for one in list_own_pictures(db, self.learner, on=on).pictures]


@pytest.fixture
def room(store: Store, tmp_path: Path) -> Room:
    return Room(store, tmp_path / "pictures")


def test_all_forms_are_offered_to_whoever_has_taken_nothing(room: Room) -> None:
    with room.store.look() as db:
        known = list_known_forms(db, room.learner)
    assert [(one.catalogue, one.form.name, one.form.wears, one.subject) for one in known] == [
        ("The flowers catalogue", "Silt daisy", "", "bird"),
        ("The waders catalogue", "Mudpiper", "winter", "bird"),
    ]


def test_forms_are_offered_in_the_language_of_who_adds_the_picture(room: Room) -> None:
    with room.store.work() as db:
        concept = db.get_one(FormRow, room.dunlin).concept_id
        for language, name in (("fr", "Aboyeur"), ("de-AT", "Schlickpfeifer"), ("de", "Schlammpfeifer")):
            db.add(VernacularRow(concept_id=concept, language=language, name=name))
    for language, told in (("en", "Mudpiper"), ("de", "Schlammpfeifer")):
        with room.store.look() as db, speak(language):
            assert [one.form.name for one in list_known_forms(db, room.learner)] == ["Silt daisy", told]
            assert known_forms(db, [room.dunlin])[room.dunlin].name == told


def test_forms_that_read_alike_are_told_apart_by_their_scientific_names(room: Room) -> None:
    with room.store.work() as db:
        for form_id, latin in ((room.dunlin, "Fictavis limosa"), (room.daisy, "Fictavis lutea")):
            form = db.get_one(FormRow, form_id)
            form.plumage = form.life_stage = ""
            db.scalars(select(NameRow).where(NameRow.concept_id == form.concept_id)).one().scientific_name = latin
            db.add(VernacularRow(concept_id=form.concept_id, language="de", name="Schlicker"))
    with room.store.look() as db, speak("de"):
        told = [one.form.name for one in list_known_forms(db, room.learner)]
        assert told == ["Schlicker (Fictavis lutea)", "Schlicker (Fictavis limosa)"]
        assert [one.name for one in list_forms(db, room.waders)] == ["Schlicker"]
    with room.store.look() as db:
        assert [one.form.name for one in list_known_forms(db, room.learner)] == ["Silt daisy", "Mudpiper"]


def test_whoever_has_taken_a_set_is_offered_the_forms_of_its_catalogue(room: Room) -> None:
    with room.store.work() as db:
        taken = PairSetRow(catalogue_id=room.waders, key="first", title="First")
        db.add(taken)
        db.flush()
        db.add(TakenSetRow(account_id=room.learner, pair_set_id=taken.id, taken_at=NOW))
    with room.store.look() as db:
        assert [one.form.id for one in list_known_forms(db, room.learner)] == [room.dunlin]
        assert len(list_known_forms(db, room.stranger)) == 2


def test_a_retired_catalogue_offers_nothing(room: Room) -> None:
    with room.store.work() as db:
        db.get_one(CatalogueRow, room.waders).retired_at = NOW
    with room.store.look() as db:
        assert [one.form.id for one in list_known_forms(db, room.learner)] == [room.daisy]


@pytest.mark.parametrize("alt", ["One mudpiper on mud", "A  MUDPIPER asleep", "Scientia mudpiper"])
def test_words_that_give_it_away_are_refused_in_the_one_form_as_well(room: Room, alt: str) -> None:
    with pytest.raises(Invalid, match="they give it away"):
        room.add(WhatItShows(room.dunlin, alt=alt))
    assert room.seen_by() == []
    room.add(WhatItShows(None, alt=alt))  # nobody is asked about what is not said


def test_what_is_added_is_practice_and_hers(room: Room) -> None:
    shown = room.add(WhatItShows(room.dunlin, orientation="lateral", typical=False))
    with room.store.look() as db:
        row = db.get_one(PictureRow, shown)
        assert (row.owner_id, row.form_id, row.use, row.typical) == (room.learner, room.dunlin, "practice", False)
        assert row.alt == "Photograph for this question, seen from the side."


def test_words_for_whoever_cannot_see_it_are_kept_as_they_were_typed(room: Room) -> None:
    shown = room.add(WhatItShows(room.dunlin, alt="Two birds on mud."))
    with room.store.look() as db:
        assert db.get_one(PictureRow, shown).alt == "Two birds on mud."


@pytest.mark.parametrize(
    ("wrong", "field"),
    [({"form_id": 0}, "form"), ({"form_id": 9999}, "form"), ({"orientation": "sideways"}, "orientation"), ({"medium": "Film"}, "medium")],
)
def test_what_is_not_on_the_list_is_refused(room: Room, wrong: dict[str, object], field: str) -> None:
    with pytest.raises(Invalid) as caught:
        room.add(replace(WhatItShows(room.dunlin), **wrong))
    assert caught.value.field == field
    assert (list(room.storage.keys()), room.seen_by()) == ([], [])


def test_the_very_same_picture_is_refused_until_it_was_withdrawn(room: Room) -> None:
    first = room.add(WhatItShows(room.dunlin), content="a" * 64)
    room.add(WhatItShows(room.dunlin), content="a" * 64, by=room.stranger)
    with pytest.raises(BadPicture, match="already"):
        room.add(WhatItShows(room.dunlin), content="a" * 64)
    with room.store.work() as db:
        retire_picture(db, account_id=room.learner, public_id=db.get_one(PictureRow, first).public_id, at=NOW)
    room.add(WhatItShows(room.dunlin), content="a" * 64)


def test_who_sees_a_picture_is_said_with_the_reason(room: Room) -> None:
    room.add(WhatItShows(room.dunlin))
    room.add(WhatItShows(None), OPEN)
    room.add(WhatItShows(room.dunlin), OPEN)
    held = room.add(WhatItShows(room.dunlin), Rights("A", WITH_PERMISSION, "A", agreed=frozenset({Purpose.GROUP}), until=DAY))
    with room.store.work() as db:
        accept(db, room.waders, held)
    assert room.seen_by() == [
        "Seen by everybody who drills The waders catalogue.",
        "Only you see it: it is shared with no group and stands in no catalogue.",
        "Only you see it, and it is not drilled: which form it shows is not said.",
        "Only you see it. No licence is given, so only its owner sees it.",
    ]
    assert room.seen_by(DAY + timedelta(days=1))[0] == "The permission ended on 2031-05-04: nobody is shown it any more."


def test_several_on_it_without_a_mark_is_told(room: Room) -> None:
    shown = room.add(WhatItShows(room.dunlin))
    with room.store.work() as db:
        db.get_one(PictureRow, shown).several = True
    told = "Several are on it, so it is not drilled until a mark says which is meant. Only you see it. "
    assert room.seen_by()[0].startswith(told)
    with room.store.work() as db:
        db.add(MarkRow(picture_id=shown, trait_id=None, x=0.1, y=0.1, width=0.5, height=0.5))
    assert room.seen_by()[0].startswith("Only you see it. ")


def test_a_picture_kept_for_tests_is_listed_but_not_shown(room: Room) -> None:
    with room.store.work() as db:
        more = {"owner_id": room.learner, "form_id": room.dunlin, "rights": OPEN, "at": NOW, "use": Use.HELD_OUT}
        add_picture(db, room.storage, TAKEN, public_id=room.next_id(), **more)
    with room.store.look() as db:
        one = list_own_pictures(db, room.learner, on=DAY).pictures[0]
    assert one.kept_back
    assert one.seen_by.startswith("Kept for field tests")


def test_pages_hold_the_latest_first_and_end(room: Room) -> None:
    for _ in range(A_PAGE + 1):
        room.add(WhatItShows(room.dunlin))
    with room.store.look() as db:
        first, last, beyond = (list_own_pictures(db, room.learner, on=DAY, page=page) for page in (0, 1, 2))
        other = list_own_pictures(db, room.stranger, on=DAY)
    assert (len(first.pictures), first.has_more, first.total) == (A_PAGE, True, A_PAGE + 1)
    assert (len(last.pictures), last.has_more) == (1, False)
    assert last.pictures[0].public_id == "00000001-6a1d-4c53-9d5e-2f7a8b9c0d1e"
    assert (beyond.pictures, beyond.has_more) == ((), False)
    assert (other.pictures, other.total) == ((), 0)


def test_withdrawing_keeps_the_row_and_is_for_the_owner_once(room: Room) -> None:
    shown = room.add(WhatItShows(room.dunlin))
    with room.store.look() as db:
        public_id = db.get_one(PictureRow, shown).public_id
    for account_id in (room.stranger, room.learner):
        with room.store.work() as db:
            if account_id == room.stranger:
                with pytest.raises(NotFound):
                    retire_picture(db, account_id=account_id, public_id=public_id, at=NOW)
            else:
                retire_picture(db, account_id=account_id, public_id=public_id, at=NOW)
    with room.store.work() as db, pytest.raises(NotFound):
        retire_picture(db, account_id=room.learner, public_id=public_id, at=NOW)
    with room.store.look() as db:
        assert db.scalars(select(PictureRow.retired_at)).all() == [NOW]
    assert room.seen_by() == []
