"""The catalogue that the tests drill is itself without fault."""

from __future__ import annotations

from contextlib import closing
from pathlib import Path

from drillhall.catalogues.checking import check
from drillhall.catalogues.reading import read_folder
from tests.small_catalogue import FORMS, USES, write_small_catalogue


def test_the_small_catalogue_has_no_fault(tmp_path: Path) -> None:
    with closing(read_folder(write_small_catalogue(tmp_path / "small"))) as folder:
        assert [fault.line for fault in check(folder).faults] == []
    assert len(folder.catalogue.pictures) == len(FORMS) * len(USES)


def test_it_is_drawn_the_same_each_time(tmp_path: Path) -> None:
    first, second = (write_small_catalogue(tmp_path / name) for name in ("a", "b"))
    for file in (first / "pictures").iterdir():
        assert file.read_bytes() == (second / "pictures" / file.name).read_bytes()
