"""What is written as a folder is read as the same; a name appears once it is whole."""

from __future__ import annotations

import zipfile
from contextlib import closing
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given, settings

from drillhall.catalogues.checking import check
from drillhall.catalogues.folder import FolderCatalogue, FolderPicture
from drillhall.catalogues.reading import read_folder
from drillhall.catalogues.reading.rows import unguard
from drillhall.catalogues.writing import open_sink, write_folder
from drillhall.catalogues.writing.files import guard
from drillhall.errors import Conflict
from tests.catalogues import folders
from tests.catalogues.invented import LINES, catalogues

FILES = ("a.jpg", "young birds/b.png")


def _content(picture: FolderPicture) -> bytes:
    return picture.file.encode()


@given(said=catalogues(files=FILES))
@settings(max_examples=30, deadline=None)
def test_a_written_folder_is_read_as_the_same(said: FolderCatalogue) -> None:
    with TemporaryDirectory() as place:
        with open_sink(Path(place) / "out", said.key) as sink:
            write_folder(said, sink, _content)
        with closing(read_folder(Path(place) / "out")) as back:
            assert check(back).lines == ()
            assert back.catalogue == said
            assert [back.picture_bytes(picture) for picture in said.pictures] == [name.encode() for name in FILES]


@given(said=catalogues(files=FILES))
@settings(max_examples=10, deadline=None)
def test_a_written_zip_is_read_as_the_same_and_is_always_the_same(said: FolderCatalogue) -> None:
    with TemporaryDirectory() as place:
        first, second = Path(place) / "one.zip", Path(place) / "two.zip"
        for target in (first, second):
            with open_sink(target, said.key) as sink:
                write_folder(said, sink, _content)
        assert folders.read(first) == said
        assert first.read_bytes() == second.read_bytes()


@given(cell=LINES)
def test_a_guarded_cell_is_no_formula_and_comes_back(cell: str) -> None:
    assert guard(cell)[:1] not in ("=", "+", "-", "@", "\t", "\r") or not cell
    assert unguard(guard(cell)) == cell


def test_a_picture_without_bytes_is_left_out(tmp_path: Path) -> None:
    said = folders.read(folders.write(tmp_path / "in"))
    with open_sink(tmp_path / "out", said.key) as sink:
        assert write_folder(said, sink, lambda _: None).pictures == ()
    assert not (tmp_path / "out" / "pictures.csv").exists()


@pytest.mark.parametrize("name", ["out", "out.zip"])
def test_what_breaks_off_leaves_nothing(tmp_path: Path, name: str) -> None:
    said = folders.read(folders.write(tmp_path / "in"))

    def breaks(_: FolderPicture) -> bytes:
        raise OSError("the disk is full")

    with pytest.raises(OSError, match="full"), open_sink(tmp_path / name, said.key) as sink:
        write_folder(said, sink, breaks)
    assert [path.name for path in tmp_path.iterdir()] == ["in"]


@pytest.mark.parametrize("name", ["in", "in/catalogue.toml"])
def test_nothing_is_overwritten(tmp_path: Path, name: str) -> None:
    folders.write(tmp_path / "in")
    with pytest.raises(Conflict, match="is there already"), open_sink(tmp_path / name, "x"):
        pytest.fail("it must not come so far")


@pytest.mark.parametrize("name", ["out", "out.zip"])
def test_of_two_who_write_to_one_name_the_first_that_is_whole_stays(tmp_path: Path, name: str) -> None:
    said = folders.read(folders.write(tmp_path / "in"))

    def meanwhile(picture: FolderPicture) -> bytes:
        if not (tmp_path / name).exists():
            with open_sink(tmp_path / name, said.key) as quick:
                write_folder(said, quick, _content)
        return b"slow " + _content(picture)

    with pytest.raises(Conflict, match="is there already"), open_sink(tmp_path / name, said.key) as slow:
        write_folder(said, slow, meanwhile)
    with closing(read_folder(tmp_path / name)) as back:
        assert [back.picture_bytes(picture) for picture in said.pictures] == [_content(picture) for picture in said.pictures] != []
    assert sorted(path.name for path in tmp_path.iterdir()) == ["in", name]


def test_an_empty_folder_may_be_written_into(tmp_path: Path) -> None:
    said = folders.read(folders.write(tmp_path / "in"))
    (tmp_path / "out").mkdir()
    with open_sink(tmp_path / "out", said.key) as sink:
        write_folder(said, sink, _content)
    assert folders.read(tmp_path / "out") == said


def test_a_zip_stores_pictures_and_packs_text_under_one_folder(tmp_path: Path) -> None:
    said = folders.read(folders.write(tmp_path / "in"))
    with open_sink(tmp_path / "out.zip", "mudflat") as sink:
        write_folder(said, sink, _content)
    with zipfile.ZipFile(tmp_path / "out.zip") as file:
        ways = {entry.filename: entry.compress_type for entry in file.infolist()}
    assert ways["mudflat/pictures/a.jpg"] == zipfile.ZIP_STORED
    assert ways["mudflat/catalogue.toml"] == zipfile.ZIP_DEFLATED
