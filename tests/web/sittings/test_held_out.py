"""Every GET route, asked for a held-out picture: its bytes and its name come to stewards, and to a sitter in her sitting, alone."""

from __future__ import annotations

from typing import Any

import pytest
from sqlalchemy import Update, select, update

from drillhall.errors import NotFound
from drillhall.pictures import serving
from drillhall.pictures.storage import FolderStorage
from drillhall.store.models.concepts import PairRow
from drillhall.store.models.field_tests import FieldTestQuestionRow, SittingItemRow
from drillhall.store.models.pictures import FileRow, PictureRow, RightsRow
from drillhall.store.models.practice import ShowingRow
from tests import cast
from tests.hall import MADE_AT
from tests.visits import Visitor
from tests.web.teacher.a_class import CLASS, Class


class HeldOut:
    """The held-out pictures of a hall: their names and their bytes, and what leads to one that is being asked."""

    def __init__(self, room: Class, sitting_id: str) -> None:
        storage = FolderStorage(room.hall.folder / "pictures")
        with room.hall.store.look() as db:
            files = select(FileRow, PictureRow).join(PictureRow, PictureRow.id == FileRow.picture_id)
            found = db.execute(files.where(PictureRow.use == "held-out", FileRow.size_name != "original")).all()
            asked = select(FieldTestQuestionRow.picture_id).join(SittingItemRow, SittingItemRow.question_id == FieldTestQuestionRow.id)
            shown = db.scalars(asked.where(SittingItemRow.sitting_id == sitting_id, SittingItemRow.place == 1)).one()
            pair = db.scalars(select(PairRow.id).order_by(PairRow.id)).first()
        file, picture = next((one, its) for one, its in found if its.id == shown)
        self.names = {its.public_id.encode() for _, its in found}
        self.contents = {storage.get(one.storage_key) for one, _ in found}
        self.values: dict[str, Any] = {
            "public_id": picture.public_id,
            "recipe": file.recipe,
            "width_px": file.width_px,
            "sitting_id": sitting_id,
            "group_key": CLASS,
            "key": "small-estuary",
            "form_key": "sluice_fiddler",
            "trait_key": "bill",
            "set_key": "fiddlers",
            "pair_key": "sluice_fiddler:marsh_fiddler",
            "pair_id": pair,
            "set_id": room.set_id,
            "table": "questions",
            "file_format": "json",
            "filename": "icon.svg",
            "name": "progress",
            "day": "yesterday",
        }

    def routes_that_tell(self, room: Class, who: Visitor) -> tuple[set[str], set[str]]:
        """Return the GET endpoints that give somebody the bytes of a held-out picture, and those that name one."""
        bytes_by, named_by = set(), set()
        for rule in room.hall.app.url_map.iter_rules():
            if "GET" not in (rule.methods or ()):
                continue
            filled = {name: self.values.get(name, 1) for name in rule.arguments}
            with room.hall.app.test_request_context():
                path = str(room.hall.app.url_map.bind("localhost").build(rule.endpoint, filled))
            answer = who.get(path)
            body = answer.get_data()
            answer.close()
            if body in self.contents:
                bytes_by.add(rule.endpoint)
            if answer.status_code == 200 and any(name in body for name in self.names):
                named_by.add(rule.endpoint)
        return bytes_by, named_by


def test_no_route_tells_of_a_held_out_picture_but_to_a_steward_or_in_a_sitting(room: Class) -> None:
    question = room.begin(room.set_test())
    held_out = HeldOut(room, question.split("/")[-2])
    token = room.pupil.token()
    room.pupil.client.post("/drills", headers={"X-CSRFToken": token}, json={})  # a drill of hers, that it may be looked into too
    assert held_out.routes_that_tell(room, room.pupil) == ({"sittings.picture"}, set())
    for visitor in (room.teacher, room.hall.visitor()):
        assert held_out.routes_that_tell(room, visitor) == (set(), set())
    # That the walk would see one is shown by whoever writes the catalogue.
    bytes_by, named_by = held_out.routes_that_tell(room, room.hall.enter(cast.KEEPER, known=True))
    assert bytes_by == {"pictures.the_picture"}
    assert named_by
    with room.hall.store.look() as db:
        drilled = db.scalars(select(PictureRow.use).join(ShowingRow, ShowingRow.picture_id == PictureRow.id).distinct()).all()
    assert "held-out" not in drilled
    assert drilled


@pytest.mark.parametrize(
    "change",
    [
        update(PictureRow).values(use="practice"),
        update(PictureRow).values(retired_at=MADE_AT),
        update(PictureRow).values(described_at=None),
        update(RightsRow).values(licence="", licence_url=""),
    ],
)
def test_what_may_not_be_asked_is_not_served_for_a_sitting(room: Class, change: Update) -> None:
    storage = FolderStorage(room.hall.folder / "pictures")
    with room.hall.store.work() as db:
        files = select(PictureRow.public_id, FileRow.recipe).join(FileRow, FileRow.picture_id == PictureRow.id)
        public_id, recipe = db.execute(files.where(PictureRow.use == "held-out", FileRow.size_name != "original")).first() or ("", "")
        assert serving.the_held_out_file(db, storage, public_id=public_id, recipe=recipe, on=MADE_AT.date()).cacheable_seconds == 0
        db.execute(change)
        with pytest.raises(NotFound):
            serving.the_held_out_file(db, storage, public_id=public_id, recipe=recipe, on=MADE_AT.date())
