"""What a catalogue still wants is told, and is no fault."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.catalogues import folders
from tests.catalogues.folders import CATALOGUE, ROW


def _rows(form: str, *, practice: int, portraits: int = 3, held_out: int = 4, **more: str) -> list[dict[str, str]]:
    uses = ["practice"] * practice + ["portrait"] * portraits + ["held-out"] * held_out
    return [{**ROW, **more, "file": f"{form}{number}.jpg", "form": form, "use": use} for number, use in enumerate(uses)]


@pytest.mark.parametrize(
    ("practice", "told"),
    [
        (0, "Lesser Oozer (adult): 0 practice pictures; its pairs cannot be drilled. Aim for 20."),
        (9, "Lesser Oozer (adult): 9 practice pictures; fewer than 10 are learnt by heart. Aim for 20."),
        (10, "Lesser Oozer (adult): 10 practice pictures. Aim for 20."),
        (19, "Lesser Oozer (adult): 19 practice pictures. Aim for 20."),
        (20, None),
    ],
)
def test_pictures_of_a_form(tmp_path: Path, practice: int, told: str | None) -> None:
    wanted = folders.report(folders.write(tmp_path, rows=_rows("lesser", practice=practice))).wanted
    assert [line for line in wanted if line.startswith("Lesser Oozer (adult)")] == ([told] if told else [])


def test_portraits_of_a_form(tmp_path: Path) -> None:
    wanted = folders.report(folders.write(tmp_path, rows=_rows("lesser", practice=20, portraits=1))).wanted
    assert "Lesser Oozer (adult): 1 of 3 portraits." in wanted


def test_held_out_pictures_of_a_form(tmp_path: Path) -> None:
    wanted = folders.report(folders.write(tmp_path, rows=_rows("lesser", practice=20, held_out=3))).wanted
    assert "Lesser Oozer (adult): 3 of 4 held-out pictures, which tests need." in wanted


def test_a_setting_that_gives_one_form_away(tmp_path: Path) -> None:
    rows = [*_rows("lesser", practice=2, setting="mud"), *_rows("greater", practice=2)]
    wanted = folders.report(folders.write(tmp_path, rows=rows)).wanted
    assert "Greater Oozer (adult): no practice picture with setting mud, of which Lesser Oozer (adult) has some." in wanted


def test_a_picture_without_a_licence_is_wanted_and_no_fault(tmp_path: Path) -> None:
    report = folders.report(folders.write(tmp_path, rows=[{**ROW, "dcterms:rights": "", "dc:creator": "", "photoshop:Credit": ""}]))
    assert report.faults == ()
    assert any(line.startswith("a.jpg is not seen by anybody but the one who imports") for line in report.wanted)


def test_views_that_give_one_form_away(tmp_path: Path) -> None:
    rows = [*_rows("lesser", practice=2, pose="preening"), *_rows("greater", practice=2, subjectOrientation="left")]
    wanted = folders.report(folders.write(tmp_path, rows=rows)).wanted
    assert "Greater Oozer (adult): no practice picture with pose preening, of which Lesser Oozer (adult) has some." in wanted
    assert "Lesser Oozer (adult): no practice picture seen on its left side, of which Greater Oozer (adult) has some." in wanted


def test_traits_without_marks_and_traits_that_no_form_shows(tmp_path: Path) -> None:
    text = CATALOGUE.replace('legs = { dark = "usually" }', "")
    wanted = folders.report(folders.write(tmp_path, catalogue=text)).wanted
    assert "Trait Bill: marked on no picture, so “where do I look?” cannot point at it." in wanted
    assert "Trait Legs: no form says how often it shows it." in wanted


def test_a_pair_that_no_trait_tells_apart(tmp_path: Path) -> None:
    text = CATALOGUE.replace("bill = { bent = { shown = 19, of = 20 } }", 'bill = { straight = "always" }')
    wanted = folders.report(folders.write(tmp_path, catalogue=text)).wanted
    assert "Lesser Oozer (adult) and Greater Oozer (adult): no trait tells the two apart, so a miss cannot be explained." in wanted
    assert not any("no trait tells" in line for line in folders.report(folders.write(tmp_path / "sound")).wanted)


def test_a_part_of_ones_own_and_stray_files_and_no_set(tmp_path: Path) -> None:
    text = CATALOGUE.replace('part = "bill"', 'part = "gape"')
    folder = folders.write(tmp_path, catalogue=text, sets=None, files={f"{name}.jpg": name.encode() for name in "abcde"})
    wanted = folders.report(folder).wanted
    assert (
        "pictures/b.jpg, pictures/c.jpg, pictures/d.jpg and 1 more are in pictures/ and not named in pictures.csv, so left aside." in wanted
    )
    assert any(line.startswith("There is no pair set") for line in wanted)
    assert any(line.startswith("Trait Bill: the part gape is a word of your own") for line in wanted)
