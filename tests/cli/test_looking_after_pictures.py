"""`drillhall pictures sweep` and `verify`: leftovers and turned bits are found, and go or are mended only where that is safe."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from io import BytesIO
from pathlib import Path

import pytest
from PIL import Image
from sqlalchemy import select

from drillhall.acts.run_jobs import Workshop, run_round
from drillhall.cli import pictures as command
from drillhall.pictures import sweeping
from drillhall.pictures.storage import FolderStorage
from drillhall.store.models.pictures import FileRow, PictureRow, RightsRow
from drillhall.store.session import Store
from tests.cli.halls import HER, hers, opened, run, write_pictures


@pytest.fixture(scope="module")
def with_picture(made_hall: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A hall in which she has one picture with three files: as it came, large and small."""
    tmp_path = tmp_path_factory.mktemp("with-picture")
    place = Path(shutil.copytree(made_hall, tmp_path / "hall"))
    out = BytesIO()
    Image.linear_gradient("L").resize((1200, 900)).convert("RGB").save(out, "JPEG")
    mine = write_pictures(tmp_path / "mine", {"b.jpg": out.getvalue()}, [{"file": "b.jpg", "dc:creator": "Ada Mudd"}])
    assert run("pictures", "add", mine, "--for", HER, "--data", place).exit_code == 0
    return place


@pytest.fixture
def data(with_picture: Path, tmp_path: Path) -> Path:
    """Such a hall of the test's own."""
    return Path(shutil.copytree(with_picture, tmp_path / "hall"))


@pytest.fixture
def later(monkeypatch: pytest.MonkeyPatch) -> Iterator[list[timedelta]]:
    """How far the command's clock is ahead; a test moves it."""
    ahead = [timedelta()]

    class Clock(datetime):
        @classmethod
        def now(cls, tz: object = None) -> datetime:  # type: ignore[override]
            return datetime.now(tz) + ahead[0]  # type: ignore[arg-type]

    monkeypatch.setattr(command, "datetime", Clock)
    return ahead  # type: ignore[return-value]


def storage(data: Path) -> FolderStorage:
    return FolderStorage(data / "pictures")


def key_of(data: Path, size: str) -> str:
    with opened(data) as db:
        return db.scalars(
            select(FileRow.storage_key).join(PictureRow).where(PictureRow.owner_id == hers(db)[0].owner_id, FileRow.size_name == size)
        ).one()


def sweep(data: Path, *more: str) -> str:
    told = run("pictures", "sweep", "--data", data, *more)
    assert told.exit_code == 0, told.stderr
    return told.stdout


def test_a_stray_file_goes_only_when_two_sweeps_an_hour_apart_found_it(data: Path, later: list[timedelta]) -> None:
    storage(data).put("ab/stray/x.webp", b"-")
    assert "Let go: 0 files, 0 rows." in sweep(data, "--delete")
    later[0] = timedelta(minutes=59)
    assert "Let go: 0 files, 0 rows." in sweep(data, "--delete")
    later[0] = timedelta(minutes=61)
    assert "ab/stray/x.webp: no picture has it, found first " in sweep(data)
    assert "ab/stray/x.webp" in set(storage(data).keys())  # dry unless told
    assert "Let go: 1 file, 0 rows." in sweep(data, "--delete")
    assert "ab/stray/x.webp" not in set(storage(data).keys())
    assert sweep(data) == "Files that no picture has: 0. Files gone: 0.\n"


def test_what_was_found_and_then_got_its_row_is_forgotten(data: Path, later: list[timedelta]) -> None:
    storage(data).put("ab/stray/x.webp", b"-")
    sweep(data)
    storage(data).delete("ab/stray/x.webp")
    sweep(data)
    storage(data).put("ab/stray/x.webp", b"-")  # another upload, which runs just now
    later[0] = timedelta(minutes=61)
    assert "Let go: 0 files, 0 rows." in sweep(data, "--delete")


def test_a_row_without_its_file_stays_while_another_file_can_make_it_anew(data: Path, later: list[timedelta]) -> None:
    storage(data).delete(key_of(data, "large"))
    assert ": its file is gone, found first " in sweep(data)
    later[0] = timedelta(hours=2)
    assert "Let go: 0 files, 0 rows." in sweep(data, "--delete")
    for size in ("small", "original"):
        storage(data).delete(key_of(data, size))
    sweep(data)
    later[0] = timedelta(hours=4)
    assert "Let go: 0 files, 3 rows." in sweep(data, "--delete")
    with opened(data) as db:
        assert (hers(db)[0].content_sha256, hers(db)[0].retired_at is None) == ("", False)


def test_the_row_of_a_lost_original_goes_and_the_picture_stays(data: Path, later: list[timedelta]) -> None:
    key = key_of(data, "original")
    storage(data).delete(key)
    assert "Let go: 0 files, 0 rows." in sweep(data, "--delete")
    later[0] = timedelta(hours=2)
    told = sweep(data, "--delete")
    assert "Let go: 0 files, 1 row." in told
    assert f"{key}: it came so and is lost; the hall goes on with the sizes made of it." in told
    with opened(data) as db:
        assert sorted(db.scalars(select(FileRow.size_name).where(FileRow.picture_id == hers(db)[0].id))) == ["large", "small"]
        assert (hers(db)[0].retired_at, bool(hers(db)[0].content_sha256)) == (None, True)
    assert run("pictures", "verify", "--data", data).exit_code == 0


def test_files_that_were_let_go_on_purpose_are_no_leftovers(data: Path) -> None:
    with opened(data) as db:
        for row in db.scalars(select(FileRow).where(FileRow.picture_id == hers(db)[0].id)):
            storage(data).delete(row.storage_key)
            db.delete(row)
    assert sweep(data) == "Files that no picture has: 0. Files gone: 0.\n"


def test_what_a_broken_write_left_goes_once_it_is_old(data: Path, later: list[timedelta]) -> None:
    (data / "pictures" / ".unfinished-k3").write_bytes(b"half")
    assert "Let go: 0 files, 0 rows." in sweep(data, "--delete")
    later[0] = timedelta(hours=2)
    assert "Let go: 1 file, 0 rows." in sweep(data, "--delete")


def test_an_open_hall_lets_go_after_a_day_of_the_few_files_of_an_upload_that_broke_off(data: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    kept, began = storage(data), datetime(2031, 3, 3, 8, tzinfo=UTC)
    store = Store(f"sqlite:///{data / 'hall.sqlite'}")
    with store.look() as db:
        known = len(db.scalars(select(FileRow)).all())
    monkeypatch.setattr(sweeping, "ONE_IN", known)

    def left_of(many: int, *hours: int) -> list[int]:
        for number in range(many):
            kept.put(f"ab/stray-{many}/{number}.webp", b"-")
        left = []
        for later in hours:
            run_round(Workshop(store, kept, None, lambda at=began + timedelta(hours=later): at))  # type: ignore[misc]
            left.append(sum("stray" in key for key in kept.keys()))  # noqa: SIM118 - it is no dict
        return left

    assert left_of(1, 0, 23, 31) == [1, 1, 0]
    assert left_of(2, 48, 96) == [2, 2], "so many are no uploads that broke off: the keeper sees to them"
    store.close()


def test_every_sound_file_is_read_and_found_sound(data: Path) -> None:
    told = run("pictures", "verify", "--data", data)
    assert (told.exit_code, told.stdout, told.stderr) == (0, "Every file is what was kept.\n", "")


def flip(content: bytes) -> bytes:
    """Turn one bit in the middle, where a decoder may well not notice."""
    middle = len(content) // 2
    return content[:middle] + bytes([content[middle] ^ 1]) + content[middle + 1 :]


@pytest.mark.parametrize(
    ("size", "spoil", "wrong"),
    [
        ("small", flip, "Its bytes are others than were kept."),
        ("large", lambda content: content[:-9], " bytes, and "),
        ("small", None, "The file is gone."),
    ],
)
def test_a_spoilt_size_is_found_and_made_anew(data: Path, size: str, spoil: object, wrong: str) -> None:
    key = key_of(data, size)
    sound = storage(data).get(key)
    storage(data).delete(key)
    if callable(spoil):
        storage(data).put(key, spoil(sound))
    told = run("pictures", "verify", "--data", data)
    assert told.exit_code == 1
    assert key in told.stderr
    assert wrong in told.stderr
    assert "Not what was kept: one file." in told.stderr
    mended = run("pictures", "verify", "--data", data, "--mend")
    assert (mended.exit_code, mended.stdout) == (0, "Mended: 1.\nEvery file is what was kept.\n")
    assert storage(data).get(key_of(data, size)) == sound
    assert run("pictures", "verify", "--data", data).exit_code == 0


def test_a_spoilt_original_cannot_be_mended_and_nothing_is_made_from_it(data: Path) -> None:
    original, small = key_of(data, "original"), key_of(data, "small")
    storage(data).put(original, flip(storage(data).get(original)))
    storage(data).delete(small)
    told = run("pictures", "verify", "--data", data, "--mend")
    assert (told.exit_code, told.stdout) == (1, "Mended: 1.\n")  # the small one, from the large one
    assert "Not what was kept: one file." in told.stderr
    assert original in told.stderr
    assert Image.open(BytesIO(storage(data).get(key_of(data, "small")))).size == (640, 480)


def test_mending_gives_up_an_original_that_is_gone_and_says_so(data: Path) -> None:
    key = key_of(data, "original")
    storage(data).delete(key)
    told = run("pictures", "verify", "--data", data, "--mend")
    assert (told.exit_code, told.stdout.splitlines()) == (
        0,
        ["Mended: 0.", f"{key}: it came so and is lost; the hall goes on with the sizes made of it.", "Every file is what was kept."],
    )
    with opened(data) as db:
        assert key not in set(db.scalars(select(FileRow.storage_key)))


def test_a_lost_original_is_not_given_up_while_nothing_else_is_sound(data: Path) -> None:
    storage(data).delete(key_of(data, "original"))
    for size in ("large", "small"):
        storage(data).put(key_of(data, size), b"spoilt")
    told = run("pictures", "verify", "--data", data, "--mend")
    assert (told.exit_code, told.stdout) == (1, "Mended: 0.\n")
    assert key_of(data, "original")


def test_where_nothing_sound_is_left_nothing_is_mended(data: Path) -> None:
    for size in ("original", "large", "small"):
        storage(data).put(key_of(data, size), b"spoilt")
    told = run("pictures", "verify", "--data", data, "--mend")
    assert (told.exit_code, told.stdout) == (1, "Mended: 0.\n")
    assert "Not what was kept: 3 files." in told.stderr


def test_older_files_without_a_hash_are_judged_by_what_they_decode_to(data: Path) -> None:
    with opened(data) as db:
        rows = {row.size_name: row for row in db.scalars(select(FileRow).where(FileRow.picture_id == hers(db)[0].id))}
        for row in rows.values():
            row.sha256 = ""
        rows["large"].width_px -= 1
        storage(data).put(rows["small"].storage_key, bytes(rows["small"].bytes))
    told = run("pictures", "verify", "--data", data)
    assert told.exit_code == 1
    assert "It is 1200 × 900 pixels, and 1199 × 900 were kept." in told.stderr
    assert f"{key_of(data, 'small')}: It cannot be decoded." in told.stderr


def test_a_file_that_tells_other_rights_than_its_picture_has_is_found(data: Path) -> None:
    with opened(data) as db:
        db.get_one(RightsRow, hers(db)[0].id).creator = "Somebody Else"
    told = run("pictures", "verify", "--data", data)
    assert told.stderr.count("It tells other rights than the picture has.") == 2
    assert run("pictures", "verify", "--data", data, "--mend").exit_code == 0
