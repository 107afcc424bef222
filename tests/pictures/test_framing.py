"""A frame is cut out of the picture where rights allow it, kept as a rectangle everywhere, and refused where too little is left."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from sqlalchemy import delete, select

from drillhall.core.licences import LICENCES
from drillhall.core.regions import WHOLE, Region
from drillhall.core.rights import Rights
from drillhall.core.values import Rendition
from drillhall.errors import BadPicture, Invalid, NotFound
from drillhall.pictures import framing
from drillhall.pictures.ingest import add_picture, take
from drillhall.pictures.rights import write_rights
from drillhall.pictures.serving import the_file
from drillhall.pictures.storage import FolderStorage
from drillhall.practice.packets import PictureView
from drillhall.practice.views import views_in_renditions
from drillhall.store.models.catalogue import TraitRow
from drillhall.store.models.pictures import FileRow, MarkRow, PictureRow
from drillhall.store.queries.learner import marked_traits
from drillhall.store.session import Store
from tests.pictures.drawn import NOW, PRIVATE, PUBLIC_ID, accept, add_account, add_catalogue, is_near, opened, saved, scene

DAY = date(2031, 5, 4)
BLUE = Region(0.75, 0.75, 0.25, 0.25)
"""Where the scene is blue: its lower right corner."""


class Framed:
    """A hall with one picture of 1200 × 900 pixels in a catalogue, its owner, and somebody else who is shown it."""

    def __init__(self, store: Store, folder: Path, licence: str | None) -> None:
        self.store, self.storage = store, FolderStorage(folder)
        rights = Rights("Ada Mudd", LICENCES[licence], "Ada Mudd") if licence else PRIVATE
        with store.work() as db:
            self.owner, self.other = (add_account(db, name) for name in ("owner", "other"))
            self.catalogue = add_catalogue(db)
            taken = take(saved(scene(1200, 900), quality=95))
            about = {"public_id": PUBLIC_ID, "owner_id": self.owner, "form_id": None, "at": NOW, "alt": "One bird on mud."}
            self.picture = add_picture(db, self.storage, taken, rights=rights, **about)  # type: ignore[arg-type]
            accept(db, self.catalogue, self.picture)

    def frame(self, frame: Region | None) -> None:
        with self.store.look() as db:
            new = framing.make_cut(db, self.storage, self.owner, PUBLIC_ID, frame, on=DAY)
        with self.store.work() as db:
            framing.set_frame(db, self.storage, self.owner, PUBLIC_ID, new)

    def mark(self, region: Region, *, trait: str = "") -> None:
        with self.store.work() as db:
            row = TraitRow(catalogue_id=self.catalogue, key=trait, label=trait, part="bill", kind="structure") if trait else None
            if row:
                db.add(row)
                db.flush()
            sides = {"x": region.x, "y": region.y, "width": region.width, "height": region.height}
            db.add(MarkRow(picture_id=self.picture, trait_id=row.id if row else None, **sides))

    def view(self, viewer: int, rendition: Rendition = Rendition.AS_TAKEN) -> PictureView:
        wanted = self.picture, rendition
        with self.store.look() as db:
            return views_in_renditions(db, [wanted], catalogue_id=self.catalogue, viewer_id=viewer, on=DAY)[wanted]

    def files(self) -> dict[str, FileRow]:
        with self.store.look() as db:
            return {row.size_name: row for row in db.scalars(select(FileRow))}


@pytest.fixture
def framed(sqlite_store: Store, tmp_path: Path, request: pytest.FixtureRequest) -> Framed:
    """A hall with a picture under the licence of the test's parameter, CC BY without one."""
    return Framed(sqlite_store, tmp_path / "pictures", getattr(request, "param", "CC-BY-4.0"))


def test_a_cut_is_made_of_the_pixels_as_they_came(framed: Framed) -> None:
    framed.frame(BLUE)
    files = framed.files()
    cut = opened(framed.storage.get(files["cut-large"].storage_key))
    assert cut.size == (300, 225)
    assert is_near(cut.getpixel((150, 110)), (30, 30, 200), 25)
    assert files["cut-large"].rendition == "cut"
    assert files["large"].rendition == "as taken"


def test_a_cut_carries_the_rights_of_its_picture(framed: Framed) -> None:
    framed.frame(BLUE)
    assert b"Ada Mudd" in framed.storage.get(framed.files()["cut-large"].storage_key)


@pytest.mark.parametrize("framed", ["CC-BY-4.0", "CC-BY-SA-4.0", "CC0-1.0"], indirect=True)
def test_where_altering_is_allowed_everybody_is_shown_the_cut(framed: Framed) -> None:
    framed.frame(BLUE)
    for viewer in (framed.owner, framed.other):
        view = framed.view(viewer)
        assert (view.width_px, view.height_px, view.frame, view.changed) == (300, 225, None, "cut")
        with framed.store.look() as db:
            served = the_file(db, framed.storage, public_id=PUBLIC_ID, recipe=view.large.recipe, viewer_id=viewer, on=DAY, at=NOW)
        assert opened(served.content).size == (300, 225)


@pytest.mark.parametrize("framed", ["CC-BY-ND-4.0"], indirect=True)
def test_under_no_derivatives_others_are_shown_the_whole_with_a_zoom(framed: Framed) -> None:
    framed.frame(BLUE)
    assert framed.view(framed.owner).changed == "cut"  # version 4.0 lets her alter it for herself
    view = framed.view(framed.other)
    assert (view.width_px, view.height_px, view.part, view.changed) == (1200, 900, (900, 675, 300, 225), "")
    cut = framed.files()["cut-large"].recipe
    with framed.store.look() as db, pytest.raises(NotFound):
        the_file(db, framed.storage, public_id=PUBLIC_ID, recipe=cut, viewer_id=framed.other, on=DAY, at=NOW)


@pytest.mark.parametrize("framed", ["CC-BY-ND-3.0", "CC-BY-NC-ND-2.0", None], indirect=True)
def test_where_nobody_may_alter_it_no_cut_is_made(framed: Framed) -> None:
    framed.frame(BLUE)
    assert {row.rendition for row in framed.files().values()} == {"as taken"}
    assert framed.view(framed.owner).part == (900, 675, 300, 225)


def test_rights_that_keep_altering_from_others_delete_nothing_and_stop_the_cut(framed: Framed) -> None:
    framed.frame(BLUE)
    with framed.store.work() as db:
        write_rights(db, framed.storage, framed.picture, Rights("Ada Mudd", LICENCES["CC-BY-ND-4.0"], "Ada Mudd"))
    assert "cut-large" in framed.files()
    assert framed.view(framed.other).part == (900, 675, 300, 225)
    assert framed.view(framed.owner).changed == "cut"


def test_rights_that_let_nobody_alter_it_leave_the_zoom(framed: Framed) -> None:
    framed.frame(BLUE)
    with framed.store.work() as db:
        write_rights(db, framed.storage, framed.picture, Rights("Ada Mudd", LICENCES["CC-BY-ND-3.0"], "Ada Mudd"))
    assert framed.view(framed.owner).changed == ""
    assert framed.view(framed.owner).part == (900, 675, 300, 225)


def test_another_frame_takes_the_place_of_the_first(framed: Framed) -> None:
    framed.frame(BLUE)
    first = framed.files()["cut-large"].storage_key
    framed.frame(Region(0.0, 0.0, 0.25, 0.25))
    second = framed.files()["cut-large"].storage_key
    assert is_near(opened(framed.storage.get(second)).getpixel((150, 110)), (200, 30, 30), 25)
    assert set(framed.storage.keys()) == {row.storage_key for row in framed.files().values()}
    assert first != second


def test_the_same_frame_again_changes_nothing(framed: Framed) -> None:
    framed.frame(BLUE)
    before = framed.files()["cut-large"].id
    framed.frame(BLUE)
    assert framed.files()["cut-large"].id == before


@pytest.mark.parametrize("whole", [None, WHOLE])
def test_shown_whole_again_nothing_of_the_frame_is_left(framed: Framed, whole: Region | None) -> None:
    framed.frame(BLUE)
    framed.frame(whole)
    assert set(framed.files()) == {"large", "small", "original"}
    assert framed.view(framed.other).part == (0, 0, 1200, 900)


def test_a_frame_moved_by_less_than_a_recipe_tells_keeps_its_file(framed: Framed) -> None:
    framed.frame(BLUE)
    framed.frame(Region(BLUE.x + 1e-8, BLUE.y, BLUE.width - 1e-8, BLUE.height))
    with framed.store.look() as db:
        keys = db.scalars(select(FileRow.storage_key).where(FileRow.rendition == "cut")).all()
    assert keys
    assert all(framed.storage.get(key) for key in keys)


def test_without_the_original_the_largest_size_is_cut(framed: Framed) -> None:
    with framed.store.work() as db:
        db.execute(delete(FileRow).where(FileRow.size_name == "original"))
    framed.frame(BLUE)
    assert opened(framed.storage.get(framed.files()["cut-large"].storage_key)).size == (300, 225)


def test_a_lost_original_is_no_hindrance(framed: Framed) -> None:
    with framed.store.look() as db:
        key = db.scalars(select(FileRow.storage_key).where(FileRow.size_name == "original")).one()
    framed.storage.delete(key)
    framed.frame(BLUE)
    with framed.store.look() as db:
        assert db.scalars(select(FileRow).where(FileRow.rendition == "cut")).all()


def test_work_that_is_not_kept_leaves_no_file(framed: Framed) -> None:
    before = set(framed.storage.keys())
    with framed.store.look() as db:
        new = framing.make_cut(db, framed.storage, framed.owner, PUBLIC_ID, BLUE, on=DAY)
    with pytest.raises(ZeroDivisionError), framed.store.work() as db:
        1 / len(framing.set_frame(db, framed.storage, framed.owner, PUBLIC_ID, new) or ())
    assert set(framed.storage.keys()) == before


@pytest.mark.parametrize(
    ("frame", "words"),
    [(Region(0.5, 0.5, 0.1, 0.1), "120 × 90 pixels"), (Region(0.5, 0.5, 0.9, 0.1), "beyond the picture"), (Region(0, 0, 0, 1), "no size")],
)
def test_what_is_no_frame_is_refused(framed: Framed, frame: Region, words: str) -> None:
    with pytest.raises((BadPicture, Invalid), match=words) as told:
        framed.frame(frame)
    assert told.value.field == "frame"
    assert "cut-large" not in framed.files()


def test_nobody_frames_anothers_picture(framed: Framed) -> None:
    with framed.store.look() as db, pytest.raises(NotFound):
        framing.make_cut(db, framed.storage, framed.other, PUBLIC_ID, BLUE, on=DAY)


def test_marks_move_with_the_cut_and_one_outside_is_not_shown(framed: Framed) -> None:
    framed.mark(Region(0.875, 0.875, 0.0625, 0.125), trait="bill")
    framed.mark(Region(0.1, 0.1, 0.2, 0.2), trait="legs")
    framed.frame(BLUE)
    mark = framed.view(framed.other).marks["bill"]
    assert (mark.x, mark.y, mark.width, mark.height) == pytest.approx((0.5, 0.5, 0.25, 0.5))
    assert framed.view(framed.other).shows == {"bill"}
    with framed.store.look() as db:
        assert marked_traits(db, [framed.picture], catalogue_id=framed.catalogue) == {framed.picture: {"bill"}}
        assert framing.the_framing(db, framed.owner, PUBLIC_ID, on=DAY).hides == ("legs",)


def test_where_every_mark_is_outside_nothing_counts_as_seen(framed: Framed) -> None:
    framed.mark(Region(0.1, 0.1, 0.2, 0.2), trait="legs")
    framed.frame(BLUE)
    assert framed.view(framed.other).shows == frozenset()
    with framed.store.look() as db:
        assert marked_traits(db, [framed.picture], catalogue_id=framed.catalogue) == {framed.picture: frozenset()}


def test_which_of_several_is_meant_is_ringed_from_the_start_and_said(framed: Framed) -> None:
    framed.mark(Region(0.875, 0.875, 0.0625, 0.125))
    assert framed.view(framed.other).subject is None  # there is but one on it
    with framed.store.work() as db:
        db.get_one(PictureRow, framed.picture).several = True
    view = framed.view(framed.other)
    assert view.subject is not None
    assert view.alt == "One bird on mud. The one in the ring is meant."
    assert view.shows is None  # the subject is no trait


def test_a_rendition_that_is_not_there_comes_as_taken(framed: Framed) -> None:
    view = framed.view(framed.other, Rendition.FAR_OFF)
    assert (view.changed, view.large.width_px) == ("", 1200)


@pytest.mark.parametrize("lost", [False, True])
def test_a_cut_that_rights_took_away_is_made_again_once_they_are_back(framed: Framed, *, lost: bool) -> None:
    framed.frame(BLUE)
    open_rights, closed = (Rights("Ada Mudd", LICENCES[key], "Ada Mudd") for key in ("CC-BY-SA-4.0", "CC-BY-ND-2.0"))
    with framed.store.work() as db:
        write_rights(db, framed.storage, framed.picture, closed)
    assert [file.rendition for file in framed.files().values()] == ["as taken"] * len(framed.files())
    if lost:
        for file in framed.files().values():
            framed.storage.delete(file.storage_key)
    with framed.store.work() as db:
        write_rights(db, framed.storage, framed.picture, open_rights)
    cut = framed.files().get("cut-large")
    assert (cut is None) is lost, "lost files keep nobody from giving other rights"
    if cut:
        assert opened(framed.storage.get(cut.storage_key)).size == (300, 225)
        assert b"CC BY-SA 4.0" in framed.storage.get(cut.storage_key)
        assert framed.view(framed.other).changed == "cut"
