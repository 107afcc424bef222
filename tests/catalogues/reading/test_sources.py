"""A folder and its zip say the same; whatever leads out of them, or is too much, is refused."""

from __future__ import annotations

import stat
import struct
import zipfile
from pathlib import Path

import pytest

from drillhall.catalogues.reading import sources
from drillhall.errors import BadImport
from tests.catalogues import folders


@pytest.mark.parametrize("top", ["", "mudflat/"])
def test_a_zip_says_what_its_folder_says(tmp_path: Path, top: str) -> None:
    folder = folders.write(tmp_path / "mudflat")
    packed = folders.pack(folder, tmp_path / "mudflat.zip", top=top)
    assert folders.read(packed) == folders.read(folder)
    assert folders.report(packed).lines == ()


def test_what_systems_put_beside_the_files_is_left_aside(tmp_path: Path) -> None:
    packed = folders.pack(folders.write(tmp_path / "mudflat"), tmp_path / "m.zip", top="mudflat/")
    with zipfile.ZipFile(packed, "a") as file:
        file.writestr("__MACOSX/mudflat/._catalogue.toml", "junk")
        file.writestr("mudflat/.DS_Store", "junk")
    assert folders.report(packed).lines == ()


@pytest.mark.parametrize("name", ["../out.txt", "/etc/out.txt", "pictures/../../out.txt", "c:out.txt", "pictures\\out.txt"])
def test_a_name_that_leads_out_is_told(tmp_path: Path, name: str) -> None:
    packed = folders.pack(folders.write(tmp_path / "mudflat"), tmp_path / "m.zip")
    with zipfile.ZipFile(packed, "a") as file:
        entry = zipfile.ZipInfo("x")
        entry.filename = name  # the constructor would mend some of them
        file.writestr(entry, "x")
    assert any("leads out of the folder" in line for line in folders.report(packed).lines)


@pytest.mark.parametrize(
    ("name", "is_safe"),
    [
        ("a.jpg", True),
        ("young birds/ä ö.jpg", True),
        ("", False),
        ("..", False),
        ("a/../b", False),
        ("a//b", False),
        ("./a", False),
        ("/a", False),
        ("a\\b", False),
        ("a:b", False),
        ("a\0", False),
        ("a\nb", False),
        ("a\udcff", False),
    ],
)
def test_names_are_judged_for_any_system(name: str, is_safe: bool) -> None:
    assert sources.is_safe_name(name) is is_safe


def test_a_link_in_a_zip_is_told(tmp_path: Path) -> None:
    packed = folders.pack(folders.write(tmp_path / "mudflat"), tmp_path / "m.zip")
    with zipfile.ZipFile(packed, "a") as file:
        entry = zipfile.ZipInfo("pictures/b.jpg")
        entry.create_system, entry.external_attr = 3, (stat.S_IFLNK | 0o777) << 16
        file.writestr(entry, "/etc/hostname")
    assert folders.report(packed).lines == ("pictures/b.jpg: It is a link. Put the file itself in its place.",)


def test_a_link_in_a_folder_is_told_and_not_followed(tmp_path: Path) -> None:
    folder = folders.write(tmp_path / "mudflat")
    (tmp_path / "secret").write_text("secret")
    (folder / "pictures" / "b.jpg").symlink_to(tmp_path / "secret")
    (folder / "more").symlink_to(tmp_path)
    assert [line.partition(":")[0] for line in folders.report(folder).lines] == ["more", "pictures/b.jpg"]


def test_a_file_that_unpacks_to_far_more_is_told(tmp_path: Path) -> None:
    packed = folders.pack(folders.write(tmp_path / "mudflat"), tmp_path / "m.zip")
    with zipfile.ZipFile(packed, "a") as file:
        file.writestr("pictures/bomb.jpg", bytes(3_000_000), zipfile.ZIP_DEFLATED)
    assert folders.report(packed).lines == (
        "pictures/bomb.jpg: It unpacks to more than 100 times its size. Zip the folder again without it.",
    )


def test_a_file_twice_in_a_zip_is_told(tmp_path: Path) -> None:
    packed = folders.pack(folders.write(tmp_path / "mudflat"), tmp_path / "m.zip")
    with zipfile.ZipFile(packed, "a") as file, pytest.warns(UserWarning, match="Duplicate name"):
        file.writestr("catalogue.toml", "[catalogue]")
    assert "catalogue.toml: It is in the zip twice. Zip the folder again, each file once." in folders.report(packed).lines


def test_a_locked_zip_is_told(tmp_path: Path) -> None:
    packed = folders.pack(folders.write(tmp_path / "mudflat"), tmp_path / "m.zip")
    raw = bytearray(packed.read_bytes())
    at = raw.index(b"PK\x01\x02")
    raw[at + 8] |= 1  # the flag of encryption in the zip's own list
    packed.write_bytes(raw)
    assert any("locked with a password" in line for line in folders.report(packed).lines)


def test_a_damaged_file_in_a_zip_is_told(tmp_path: Path) -> None:
    packed = folders.pack(folders.write(tmp_path / "mudflat"), tmp_path / "m.zip")
    raw = packed.read_bytes()
    packed.write_bytes(raw.replace(b"The mudflat", b"The mudfalt", 1))
    assert any("catalogue.toml is damaged in the zip" in line for line in folders.report(packed).lines)


@pytest.mark.parametrize("content", [b"", b"no zip", b"PK\x05\x06", b"\x89PNG\r\n"])
def test_what_is_no_zip_is_refused(tmp_path: Path, content: bytes) -> None:
    (tmp_path / "m.zip").write_bytes(content)
    with pytest.raises(BadImport, match="cannot be read as a zip"):
        sources.open_source(tmp_path / "m.zip")


def test_a_zip_with_a_broken_list_is_refused(tmp_path: Path) -> None:
    packed = folders.pack(folders.write(tmp_path / "mudflat"), tmp_path / "m.zip")
    raw = packed.read_bytes()
    packed.write_bytes(raw.replace(b"PK\x01\x02", b"PK\x01\x09"))
    with pytest.raises(BadImport, match="cannot be read as a zip"):
        sources.open_source(packed)


def test_a_zip_that_lists_too_much_is_refused_before_its_list_is_read(tmp_path: Path) -> None:
    end = struct.pack("<4s4H2LH", b"PK\x05\x06", 0, 0, 60_000, 60_000, 100, 0, 0)
    (tmp_path / "m.zip").write_bytes(bytes(100) + end)
    with pytest.raises(BadImport, match="more files than a catalogue may hold"):
        sources.open_source(tmp_path / "m.zip")


def test_too_many_files_are_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sources, "MAX_FILES", 2)
    assert any("more than 2 files" in line for line in folders.report(folders.write(tmp_path / "mudflat")).lines)


def test_too_many_bytes_are_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sources, "MAX_BYTES", 10)
    monkeypatch.setattr(sources, "MAX_PICTURE_BYTES", 3)
    lines = folders.report(folders.write(tmp_path / "mudflat")).lines
    assert any("It holds more than" in line for line in lines)
    assert any(line.startswith("pictures/a.jpg: It is larger than") for line in lines)


def test_nothing_at_the_path_is_refused(tmp_path: Path) -> None:
    with pytest.raises(BadImport, match="There is no folder or zip"):
        sources.open_source(tmp_path / "nothing")
