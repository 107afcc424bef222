"""From far off and as a shape: what is left is what optics say, rights decide who may have it, and only so many are kept."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageDraw
from sqlalchemy import select

from drillhall.core.licences import LICENCES
from drillhall.core.optics import FarView, hazed, to_linear, to_srgb, transmission, what_is_left
from drillhall.core.rights import Rights
from drillhall.core.values import Rendition
from drillhall.demo.painter.studio import paint
from drillhall.errors import BadPicture, Invalid, NotAllowed, NotFound
from drillhall.pictures import altering
from drillhall.pictures.altering import MOST_KEPT, FarWish
from drillhall.pictures.far_off import seen_from_afar
from drillhall.pictures.ingest import add_picture, take
from drillhall.pictures.shape_only import shape_of
from drillhall.pictures.storage import FolderStorage
from drillhall.practice.views import picture_views, views_in_renditions
from drillhall.store.models.pictures import FileRow, MarkRow
from drillhall.store.session import Store
from tests.pictures.drawn import NOW, PUBLIC_ID, add_account, noise, saved

DAY = date(2031, 5, 4)
CLEAR, MELTS = ("temmincks_stint_juvenile", 0), ("kentish_plover_female", 16)
NEAR = FarWish(FarView(200, 8), 500)


def bird_on(ground: Image.Image) -> tuple[Image.Image, Image.Image]:
    """Draw a dark bird with a bill and a leg on a ground; return it with the mask of where it is."""
    picture, mask = ground.copy(), Image.new("1", ground.size)
    for draw, colour in ((ImageDraw.Draw(picture), (70, 52, 40)), (ImageDraw.Draw(mask), 1)):
        draw.ellipse((150, 130, 350, 250), fill=colour)
        draw.ellipse((310, 80, 390, 160), fill=colour)
        draw.rectangle((380, 112, 450, 122), fill=colour)
        draw.rectangle((240, 240, 252, 330), fill=colour)
    return picture, mask


def water(width: int = 560, height: int = 400) -> Image.Image:
    rows = np.linspace(215, 165, height)[:, None, None] + np.array([-18, 0, 14])
    return Image.fromarray(np.broadcast_to(rows, (height, width, 3)).astype(np.uint8))


class Kept:
    """A hall with a picture of a bird on water, and somebody else."""

    def __init__(self, store: Store, folder: Path, licence: str) -> None:
        self.store, self.storage = store, FolderStorage(folder)
        rights = Rights("Ada Mudd", LICENCES[licence], "Ada Mudd")
        with store.work() as db:
            self.owner, self.other = (add_account(db, name) for name in ("owner", "other"))
            about = {"public_id": PUBLIC_ID, "owner_id": self.owner, "form_id": None, "rights": rights, "at": NOW}
            self.picture = add_picture(db, self.storage, take(saved(bird_on(water())[0], quality=95)), **about)  # type: ignore[arg-type]

    def keep(self, wish: FarWish = NEAR) -> None:
        with self.store.look() as db:
            made = altering.far_off(db, self.storage, self.owner, PUBLIC_ID, wish, on=DAY)
        with self.store.work() as db:
            altering.keep(db, self.storage, self.owner, PUBLIC_ID, made, Rendition.FAR_OFF, on=DAY)

    def kept(self) -> list[FileRow]:
        with self.store.look() as db:
            return list(db.scalars(select(FileRow).where(FileRow.rendition == "far off").order_by(FileRow.id)))


@pytest.fixture
def hall(sqlite_store: Store, tmp_path: Path, request: pytest.FixtureRequest) -> Kept:
    return Kept(sqlite_store, tmp_path / "pictures", getattr(request, "param", "CC-BY-4.0"))


def test_bars_wider_than_a_detail_stay_and_finer_ones_melt() -> None:
    # 500 mm over 500 px at 200 m through 8 times: a detail is 7.27 mm, so 7.27 px (worked values of tests/checks/test_optics.py).
    for bar_px, stays in ((30, True), (2, False)):
        bars = np.zeros((60, 500, 3), dtype=np.uint8)
        bars[:, (np.arange(500) // bar_px) % 2 == 0] = 255
        seen = np.asarray(seen_from_afar(Image.fromarray(bars), extent_px=500, length_mm=500, view=FarView(200, 8)).convert("L"))
        assert (int(seen.max()) - int(seen.min()) > 200) is stays


def test_light_melts_as_light_and_not_as_numbers() -> None:
    # Half black and half white send half the light, which is sRGB 188 (IEC 61966-2-1:1999), not 128.
    board = np.zeros((400, 400, 3), dtype=np.uint8)
    board[::2, ::2] = board[1::2, 1::2] = 255
    seen = np.asarray(seen_from_afar(Image.fromarray(board), extent_px=400, length_mm=100, view=FarView(200)))
    assert abs(float(seen.mean()) - 188) < 1.5


def test_haze_is_that_of_optics() -> None:
    ramp = Image.linear_gradient("L").convert("RGB")
    seen = seen_from_afar(ramp, extent_px=10, length_mm=1000, view=FarView(100, 80, 0.2))
    curve = [255 * to_srgb(hazed(to_linear(value / 255), transmission(100, 0.2))) for value in range(256)]
    assert all(abs(round(curve[before]) - after) <= 1 for before, after in zip(ramp.tobytes(), seen.tobytes(), strict=True))


def test_near_and_in_clear_air_nothing_is_lost() -> None:
    picture = noise(120, 80)
    seen = seen_from_afar(picture, extent_px=100, length_mm=500, view=FarView(5, 8))
    assert max(abs(a - b) for a, b in zip(picture.tobytes(), seen.tobytes(), strict=True)) <= 1


def test_a_shape_is_found_where_it_parts_from_its_ground() -> None:
    picture, mask = bird_on(water())
    shape = shape_of(picture)
    assert shape.image is not None
    found, true = np.asarray(shape.image.convert("L")) < 120, np.asarray(mask)
    assert (found & true).sum() / (found | true).sum() > 0.93
    assert found[117, 430], "the bill is there"
    assert found[310, 246], "and the leg"


@pytest.mark.parametrize("ground", [noise(300, 200), Image.new("RGB", (300, 200), (120, 110, 90))])
def test_without_a_clear_shape_none_is_offered(ground: Image.Image) -> None:
    shape = shape_of(ground)
    assert shape.image is None
    assert shape.why_not


def framed_drawing(form: str, seed: int) -> tuple[Image.Image, Image.Image]:
    """Draw a bird as the demo does and cut it out with some ground around; return it with the mask of where it is."""
    drawn = paint(form, seed)
    left, top, right, bottom = drawn.mask.getbbox() or (0, 0, 0, 0)
    room = round(0.08 * max(right - left, bottom - top))
    box = (max(0, left - room), max(0, top - room), min(960, right + room), min(640, bottom + room))
    return drawn.image.crop(box), drawn.mask.crop(box)


def test_a_drawing_on_ground_of_many_colours_has_its_shape() -> None:
    picture, mask = framed_drawing(*CLEAR)
    shape = shape_of(picture)
    assert shape.image is not None, shape
    found, true = np.asarray(shape.image.convert("L")) < 120, np.asarray(mask) > 127
    assert (found & true).sum() / (found | true).sum() > 0.9


def test_a_drawing_that_melts_into_its_ground_has_none() -> None:
    picture, _ = framed_drawing(*MELTS)
    assert shape_of(picture).why_not == "It does not part clearly from what lies around it."


def test_a_shape_that_reaches_the_edge_is_not_offered() -> None:
    picture, _ = bird_on(water())
    assert shape_of(picture.crop((200, 100, 340, 240))).image is None


def test_what_is_kept_is_shown_as_that_rendition(hall: Kept) -> None:
    hall.keep()
    with hall.store.look() as db:
        wanted = hall.picture, Rendition.FAR_OFF
        view = views_in_renditions(db, [wanted], catalogue_id=1, viewer_id=hall.other, on=DAY)[wanted]
        assert "far off" in view.changed
        assert view.large.recipe == hall.kept()[0].recipe
        plain = picture_views(db, [hall.picture], catalogue_id=1, viewer_id=hall.other, on=DAY)[hall.picture]
        assert plain.changed == ""


def test_the_same_recipe_is_kept_once(hall: Kept) -> None:
    hall.keep()
    hall.keep()
    assert len(hall.kept()) == 1


def test_the_oldest_recipe_goes_when_there_are_too_many(hall: Kept) -> None:
    for distance in range(100, 100 * (MOST_KEPT + 3), 100):
        hall.keep(replace(NEAR, view=FarView(distance, 8)))
    assert len(hall.kept()) == MOST_KEPT
    stored = {row.storage_key for row in hall.kept()}
    assert stored <= set(hall.storage.keys())
    assert len(set(hall.storage.keys())) == MOST_KEPT + 2  # and the size of the whole, and the file as it came


@pytest.mark.parametrize("hall", ["CC-BY-ND-3.0"], indirect=True)
def test_where_nothing_may_be_altered_nothing_is_made(hall: Kept) -> None:
    with hall.store.look() as db:
        assert not altering.the_far_off(db, hall.owner, PUBLIC_ID, on=DAY).allowed.allowed
        with pytest.raises(NotAllowed):
            altering.far_off(db, hall.storage, hall.owner, PUBLIC_ID, NEAR, on=DAY)
        with pytest.raises(NotAllowed):
            altering.shape_only(db, hall.storage, hall.owner, PUBLIC_ID, on=DAY)


def test_another_person_makes_nothing_of_it(hall: Kept) -> None:
    with hall.store.look() as db, pytest.raises(NotFound):
        altering.far_off(db, hall.storage, hall.other, PUBLIC_ID, NEAR, on=DAY)


@pytest.mark.parametrize(
    ("field", "wish"),
    [
        ("distance", FarWish(FarView(0, 8), 500)),
        ("distance", FarWish(FarView(1e6, 8), 500)),
        ("magnification", FarWish(FarView(100, 0.5), 500)),
        ("visibility", FarWish(FarView(100, 8, 0.001), 500)),
        ("length", FarWish(FarView(100, 8), 0)),
    ],
)
def test_numbers_out_of_bounds_are_refused_by_name(hall: Kept, field: str, wish: FarWish) -> None:
    with hall.store.look() as db, pytest.raises(Invalid) as told:
        altering.far_off(db, hall.storage, hall.owner, PUBLIC_ID, wish, on=DAY)
    assert told.value.field == field


def test_the_mark_of_the_subject_says_how_long_it_is_on_the_picture(hall: Kept) -> None:
    with hall.store.look() as db:
        assert "Frame it" in altering.the_far_off(db, hall.owner, PUBLIC_ID, on=DAY).warning
    with hall.store.work() as db:
        db.add(MarkRow(picture_id=hall.picture, trait_id=None, x=0.25, y=0.2, width=0.5, height=0.6))
    with hall.store.look() as db:
        assert altering.the_far_off(db, hall.owner, PUBLIC_ID, on=DAY).warning == ""


def test_a_picture_without_a_shape_is_refused_in_words(hall: Kept, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(altering, "_image", lambda *_: noise(300, 200))
    with hall.store.look() as db, pytest.raises(BadPicture, match="No shape"):
        altering.shape_only(db, hall.storage, hall.owner, PUBLIC_ID, on=DAY)


def test_words_and_picture_tell_the_same() -> None:
    left = what_is_left(NEAR.length_mm, NEAR.view)
    assert f"{left.detail_mm:.0f} mm" in altering.words_of(NEAR)[1]
