"""A folder is read as it is meant, whatever way the standards allow to write it."""

from __future__ import annotations

from datetime import date, time
from pathlib import Path

import pytest

from drillhall.catalogues.folder import SaidChance
from drillhall.core.values import Mark
from tests.catalogues import folders
from tests.catalogues.folders import CATALOGUE, ROW


def test_forms_traits_and_pairs_are_read(tmp_path: Path) -> None:
    said = folders.read(folders.write(tmp_path))
    assert [form.key for form in said.forms] == ["lesser", "greater", "third"]
    assert said.forms[0].taxon_concept_id == "invented-list-2031/fictavis-limosa"
    assert said.forms[1].traits["bill"]["bent"] == SaidChance(shown=19, of=20)
    assert said.traits[1].states[0].colour == "#2b2722"
    assert said.pairs[0].forms == ("lesser", "greater")


def test_a_stage_names_its_pairs_in_either_order(tmp_path: Path) -> None:
    assert folders.read(folders.write(tmp_path)).sets[0].stages[0].pairs == (("lesser", "greater"),)


def test_a_given_concept_id_is_kept(tmp_path: Path) -> None:
    text = CATALOGUE.replace('scientificName = "Fictavis limosa"', 'scientificName = "Fictavis limosa"\ntaxonConceptID = "c1-2031"')
    assert folders.read(folders.write(tmp_path, catalogue=text)).forms[0].taxon_concept_id == "c1-2031"


def test_what_goes_beyond_our_words_is_kept(tmp_path: Path) -> None:
    text = "made = 2031-05-17\n[season]\nopens = 07:30:00\n" + CATALOGUE.replace(
        'title = "The mudflat"', 'title = "The mudflat"\nregion = "west"'
    )
    said = folders.read(folders.write(tmp_path, catalogue=text, rows=[{**ROW, "shelf": " B 7"}]))
    assert said.beside == {"made": date(2031, 5, 17), "season": {"opens": time(7, 30)}}
    assert said.extra == {"region": "west"}
    assert said.pictures[0].extra == {"shelf": " B 7"}


@pytest.mark.parametrize(
    "header",
    ["dc:creator", "creator", "Creator", "http://purl.org/dc/elements/1.1/creator", "dcterms:creator", "http://purl.org/dc/terms/creator"],
)
def test_headers_come_with_prefix_without_or_in_full(tmp_path: Path, header: str) -> None:
    row = {header: "Bo Marsh", **{key: value for key, value in ROW.items() if key != "dc:creator"}}
    picture = folders.read(folders.write(tmp_path, rows=[row])).pictures[0]
    assert (picture.creator, picture.extra) == ("Bo Marsh", {})


def test_of_two_terms_for_one_thing_ours_counts_and_the_other_is_kept(tmp_path: Path) -> None:
    picture = folders.read(folders.write(tmp_path, rows=[{**ROW, "dcterms:creator": "https://people.example/7"}])).pictures[0]
    assert (picture.creator, picture.extra) == ("Ada Mudd", {"dcterms:creator": "https://people.example/7"})


def test_a_byte_order_mark_does_no_harm(tmp_path: Path) -> None:
    mark = b"\xef\xbb\xbf"
    folder = folders.write(tmp_path, catalogue=mark + CATALOGUE.encode(), csv_text=mark + folders.table([ROW]).encode())
    assert folders.read(folder) == folders.read(folders.write(tmp_path / "plain"))


def test_cells_are_read_as_they_are_meant(tmp_path: Path) -> None:
    row = {
        **ROW,
        "file": "pictures/a.jpg",
        "dcterms:rights": "http://creativecommons.org/licenses/by/4.0/deed.en",
        "subjectOrientation": "http://rs.tdwg.org/acorient/values/r0005",
        "CreateDate": "2031-05-17T04:12:00+02:00",
        "typical": "No",
        "title": "'=1+1",
        "marks": "legs 0.5 0.5 0.5 0.5; bill .1234567 0 .2 .3;",
    }
    picture = folders.read(folders.write(tmp_path, rows=[row], files={"a.jpg": b"a"})).pictures[0]
    assert (picture.file, picture.licence) == ("a.jpg", "https://creativecommons.org/licenses/by/4.0/")
    assert (picture.orientation, picture.taken_on, picture.typical, picture.title) == ("left", date(2031, 5, 17), False, "=1+1")
    assert picture.marks == (Mark("bill", 0.1235, 0.0, 0.2, 0.3), Mark("legs", 0.5, 0.5, 0.5, 0.5))


def test_a_rounded_mark_does_not_reach_over_the_edge(tmp_path: Path) -> None:
    picture = folders.read(folders.write(tmp_path, rows=[{**ROW, "marks": "bill 0.33335 0 0.66665 0.00001"}])).pictures[0]
    mark = picture.marks[0]
    assert mark.x + mark.width <= 1
    assert mark.height == 0.0001


@pytest.mark.parametrize(
    ("part", "wrong", "told"),
    [
        (
            "catalogue",
            b"[catalogue\nkey = 1",
            "catalogue.toml: It is not right TOML: Expected ']' at the end of a table declaration",
        ),
        ("catalogue", CATALOGUE.encode() + b'x = "\xe4"', "catalogue.toml, line 50: It is not written in UTF-8."),
        ("catalogue", CATALOGUE.encode("utf-16"), "catalogue.toml, line 1: It is not written in UTF-8."),
        ("catalogue", b"a = " + b"[" * 90_000, "catalogue.toml: Its tables stand more than 20 deep in one another."),
        ("catalogue", b"a" + b".a" * 50 + b" = 1", "catalogue.toml: Its tables stand more than 20 deep in one another."),
        ("catalogue", b"a = " + b"9" * 5000, "catalogue.toml: It is not right TOML: "),
        ("sets", b'[[sets]]\nkey = "x" "y"', "pair-sets.toml: It is not right TOML: "),
        ("csv_text", b"file,form\n\xff\xfe,x", "pictures.csv, line 2: It is not written in UTF-8."),
        ("csv_text", b"file;form\na.jpg;lesser", "pictures.csv: Its cells are not parted by commas."),
        ("csv_text", b"", "pictures.csv: It is empty."),
        ("csv_text", b"use\npractice", "pictures.csv: It has no column file."),
        ("csv_text", b"file,form,dc:creator,creator\na.jpg,lesser,x,y", "pictures.csv: It has the column dc:creator twice."),
        ("csv_text", b"file,form,\na.jpg,lesser,x", "pictures.csv: It has a column without a header."),
        ("csv_text", b"file,form\na.jpg,lesser,more", "pictures.csv, line 2: It has 3 cells where the header has 2."),
        ("csv_text", b"file,form\na.jpg", "pictures.csv, line 2: It has 1 cells where the header has 2."),
        ("csv_text", b'file,form\n"a.jpg"x,lesser', "pictures.csv, line 2: It is not right CSV: "),
        ("csv_text", b"file,form\n" + b"a" * 200_000 + b",lesser", "pictures.csv, line 2: It is not right CSV: "),
        ("csv_text", b"file,form,typical\na.jpg,lesser,perhaps", "pictures.csv, line 2 (a.jpg): typical says perhaps."),
        ("csv_text", b"file,form,CreateDate\na.jpg,lesser,17.5.2031", "pictures.csv, line 2 (a.jpg): The date 17.5.2031 is none."),
    ],
)
def test_what_cannot_be_read_is_told_with_its_place(tmp_path: Path, part: str, wrong: bytes, told: str) -> None:
    report = folders.report(folders.write(tmp_path, **{part: wrong}))  # type: ignore[arg-type]
    assert any(line.startswith(told) for line in report.lines), report.lines


@pytest.mark.parametrize(
    "marks", ["bill 0 0 1", "bill a 0 1 1", "bill 0 0 0 1", "bill -0.1 0 1 1", "bill 0.5 0 0.6 1", "bill nan 0 1 1", "bill inf 0 1 1"]
)
def test_a_mark_outside_the_picture_is_told(tmp_path: Path, marks: str) -> None:
    report = folders.report(folders.write(tmp_path, rows=[{**ROW, "marks": marks}]))
    assert [fault.wrong for fault in report.faults] == [f"The mark “{marks}” does not lie within the picture."]


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ('title = "The mudflat"', "title = 7", "catalogue.toml, [catalogue]: title must be a text in quotes."),
        ('title = "The mudflat"\n', "", "catalogue.toml, [catalogue]: title is missing."),
        ('list = "Invented List 2031"\n', "", "catalogue.toml, [catalogue]: list is missing."),
        ('title = "The mudflat"', f'title = "{"x" * 201}"', "catalogue.toml, [catalogue]: title has 201 characters."),
        ('scientificName = "Fictavis pallida"\n', "", "catalogue.toml, form third: scientificName is missing."),
        ('forms = ["lesser", "greater"]', 'forms = ["lesser"]', "catalogue.toml, pair number 1: A pair does not name two forms."),
        ('forms = ["lesser", "greater"]', "forms = [1, 2]", "catalogue.toml, pair number 1: forms holds something that is no text."),
        ("thirds = [ {", "neither = 1\nthirds = [ {", "catalogue.toml, pair number 1 (lesser and greater): neither must be true or false."),
        (
            'trait = "bill" } ]',
            'trait = "bill", note = "x" } ]',
            "catalogue.toml, pair number 1 (lesser and greater), third number 1: It does not know note.",
        ),
        ("{ shown = 19, of = 20 }", "{ shown = 19 }", "catalogue.toml, form greater: bill, bent says neither a word nor counts."),
        ("{ shown = 19, of = 20 }", "{ shown = true, of = 20 }", "catalogue.toml, form greater, bill, bent: shown must be a whole number."),
        ("{ shown = 19, of = 20 }", "0.9", "catalogue.toml, form greater: bill, bent says neither a word nor counts."),
        ('bill = { straight = "always" }', 'bill = "straight"', "catalogue.toml, form lesser: The trait bill must be a table of states."),
        ('[[forms]]\nkey = "third"', "[[forms]]\nkey = 3", "catalogue.toml, form number 3: key must be a text in quotes."),
    ],
)
def test_values_of_the_wrong_sort_are_told(tmp_path: Path, old: str, new: str, told: str) -> None:
    assert old in CATALOGUE
    report = folders.report(folders.write(tmp_path, catalogue=CATALOGUE.replace(old, new)))
    assert any(line.startswith(told) for line in report.lines), report.lines


def test_a_missing_catalogue_is_told_alone(tmp_path: Path) -> None:
    folder = folders.write(tmp_path)
    (folder / "catalogue.toml").unlink()
    assert [fault.where for fault in folders.report(folder).faults] == ["catalogue.toml"]


def test_sets_and_pictures_may_be_absent(tmp_path: Path) -> None:
    folder = folders.write(tmp_path, sets=None)
    (folder / "pictures.csv").unlink()
    said = folders.read(folder)
    assert (said.sets, said.pictures) == ((), ())
