"""Every kind of fault is told, with its place and its mend, and all of them at once."""

from __future__ import annotations

from pathlib import Path

import pytest

from drillhall.words import joined
from tests.catalogues import folders
from tests.catalogues.folders import CATALOGUE, ROW, SETS

PAIR = '[[pairs]]\nforms = ["lesser", "greater"]'
BILL = 'bill = { straight = "always" }'


def test_a_sound_folder_has_no_fault(tmp_path: Path) -> None:
    assert folders.report(folders.write(tmp_path)).faults == ()


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ('key = "mudflat"', 'key = "Mud flat"', "[catalogue]: The key Mud flat cannot stand in an address."),
        (
            'subject = "bird"',
            'subject = "bards"',
            "[catalogue]: The subject bards is unknown. Choose one of bird, other animal,",
        ),
        (
            'subject = "bird"',
            'subject = "bird"\nlanguage = "English!"',
            "[catalogue]: The language English! is no language tag.",
        ),
        ('kind = "colour"', 'kind = "hue"', "trait legs: The kind hue is unknown. Choose one of structure, size,"),
        ('colour = "#2b2722"', 'colour = "brown"', "trait legs, state dark: The colour brown is none."),
        ('key = "legs"', 'key = "bill"', "trait bill: It is there twice."),
        ('{ key = "pale", label = "pale" }', '{ key = "dark", label = "x" }', "trait legs, state dark: It is there twice."),
        (', { key = "pale", label = "pale" }', "", "trait legs: It has fewer than two states, so it tells nothing."),
        ('key = "third"', 'key = "Third:1"', "form Third:1: Third:1 is no key."),
        ('key = "third"', 'key = "lesser"', "form lesser: It is there twice."),
        ("Fictavis grandis", "Fictavis limosa", "form greater: It is the same form as lesser: same concept,"),
        ('lifeStage = "adult"', 'lifeStage = "winter"', "form lesser: lifeStage says winter. Choose one of egg,"),
        ('lifeStage = "adult"', 'sex = "hen"', "form lesser: sex says hen. Choose one of female, male,"),
        ('lifeStage = "adult"', 'taxonRank = "kind"', "form lesser: taxonRank says kind."),
        (BILL, f'{BILL}\ntail = {{ x = "often" }}', "form lesser: There is no trait tail. Name one of [[traits]],"),
        (
            BILL,
            'bill = { curly = "always" }',
            "form lesser, trait bill: There is no state curly. Its states are straight, bent.",
        ),
        (
            BILL,
            'bill = { straight = "mostly" }',
            "form lesser, trait bill: How often straight is shown is said by the unknown",
        ),
        (BILL, "bill = { straight = { shown = 4, of = 3 } }", "form lesser, trait bill: straight says 4 of 3, which is no"),
        (
            BILL,
            "bill = { straight = { shown = -1, of = 3 } }",
            "form lesser, trait bill: straight says -1 of 3, which is no",
        ),
        (
            BILL,
            'bill = { straight = "rarely", bent = "sometimes" }',
            "form lesser, trait bill: The chances of this trait come to 0.4",
        ),
        (
            BILL,
            'bill = { straight = "always", bent = "always" }',
            "form lesser, trait bill: The chances of this trait come to 1.9",
        ),
        (BILL, "bill = {}", "form lesser, trait bill: Nothing is said of this trait"),
        (
            BILL,
            f"{BILL}\n[forms.measures]\nbill = {{ mean = 3, spread = 1 }}",
            "form lesser, trait bill: It is measured, but its trait has no",
        ),
        (BILL, f"{BILL}\n[forms.measures]\ntail = {{ mean = 3, spread = 1 }}", "form lesser, trait tail: There is no trait to measure."),
        (BILL, f"{BILL}\n[forms.measures]\nbill = {{ mean = 3 }}", "form lesser: The measure of bill does not tell mean and spread."),
        (BILL, f"{BILL}\n[forms.measures]\nbill = {{ mean = nan, spread = 1 }}", "form lesser, trait bill: The mean is nan."),
        (BILL, f"{BILL}\n[forms.measures]\nbill = {{ mean = 3, spread = 0 }}", "form lesser, trait bill: The spread is 0."),
        (BILL, f"{BILL}\n[forms.measures]\nbill = {{ mean = 3, spread = 1, n = 0 }}", "form lesser, trait bill: The count is 0."),
        (BILL, f'{BILL}\n[forms.measures]\nbill = {{ mean = "x", spread = 1 }}', "form lesser, bill: mean must be a number."),
        (
            'forms = ["lesser", "greater"]',
            'forms = ["lesser", "lesser"]',
            "pair lesser and lesser: It pairs a form with itself.",
        ),
        ('forms = ["lesser", "greater"]', 'forms = ["lesser", "gone"]', "pair lesser and gone: There is no form gone."),
        (PAIR, f'{PAIR}\n[[pairs]]\nforms = ["greater", "lesser"]', "pair greater and lesser: It is there twice."),
        (PAIR, f"{PAIR}\nthird_share = 0.5", "pair lesser and greater: third_share is 0.5. Write a share from 0 to 0.1."),
        (
            'form = "third", trait',
            'form = "gone", trait',
            "pair lesser and greater: There is no form gone to stand as a third.",
        ),
        (
            'form = "third", trait',
            'form = "greater", trait',
            "pair lesser and greater: The third greater is one of the pair",
        ),
        ('trait = "bill" } ]', 'trait = "tail" } ]', "pair lesser and greater: There is no trait tail that a third could"),
    ],
)
def test_each_fault_of_the_catalogue_is_told(tmp_path: Path, old: str, new: str, told: str) -> None:
    assert old in CATALOGUE
    report = folders.report(folders.write(tmp_path, catalogue=CATALOGUE.replace(old, new, 1)))
    assert any(line.startswith(f"catalogue.toml, {told}") for line in report.lines), report.lines


def test_a_control_sign_is_told(tmp_path: Path) -> None:
    text = CATALOGUE.replace('title = "The mudflat"', 'title = "a\\u0007b"')
    (fault,) = folders.report(folders.write(tmp_path, catalogue=text)).faults
    assert (fault.where, fault.wrong) == ("catalogue.toml", "The text 'a\\x07b' holds a control sign.")


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        (PAIR, f"{PAIR}\nthird_share = 0.5", "Paar lesser und greater: third_share ist 0,5. Schreib einen Anteil von 0 bis 0,1."),
        (
            'key = "legs"',
            'key = "bill"',
            "Merkmal bill: Das steht zweimal da. Schreib es einmal, oder gib einem davon einen anderen Schlüssel.",
        ),
        ('scientificName = "Fictavis pallida"\n', "", 'Form third: scientificName fehlt. Schreib scientificName = "...".'),
    ],
)
def test_a_fault_is_told_in_the_language_of_who_reads_it(tmp_path: Path, old: str, new: str, told: str) -> None:
    report = folders.report(folders.write(tmp_path, catalogue=CATALOGUE.replace(old, new, 1)))
    assert f"catalogue.toml, {told}" in [joined("", [line]).told("de") for line in report.lines]


def test_two_forms_of_one_species_may_be_a_pair(tmp_path: Path) -> None:
    """Young against adult, or a male against its own female: asked by form, since the name is one (common practice, no source)."""
    text = CATALOGUE.replace('"Fictavis grandis"\nlifeStage = "adult"', '"Fictavis limosa"\nlifeStage = "juvenile"')
    assert folders.report(folders.write(tmp_path, catalogue=text)).faults == ()


def test_one_name_has_one_rank(tmp_path: Path) -> None:
    text = CATALOGUE.replace('"Fictavis pallida"', '"Fictavis limosa"\ntaxonRank = "genus"')
    (fault,) = folders.report(folders.write(tmp_path, catalogue=text)).faults
    assert fault.line == "catalogue.toml, form third: Fictavis limosa has another taxonRank elsewhere in the file. Give one name one rank."


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ('["greater", "lesser"]', '["greater", "third"]', "set oozers, stage All: There is no pair of greater and third."),
        ('[ ["greater", "lesser"] ]', "[]", "set oozers, stage All: It has no pairs."),
        (
            '["greater", "lesser"]',
            '["greater", "lesser"], ["lesser", "greater"]',
            "set oozers, stage All, pair lesser and greater: It is",
        ),
        (
            "[[sets.stages]]",
            '[[sets.stages]]\ntitle = "First"\npairs = [["lesser", "greater"]]\n[[sets.stages]]',
            "set oozers, pair lesser and",
        ),
        ('key = "oozers"', 'key = "Oozers"', "set Oozers: Oozers is no key."),
        ("[[sets]]", '[[sets]]\nkey = "empty"\ntitle = "Empty"\n[[sets]]', "set empty: It has no stage."),
        ("[[sets]]", '[[sets]]\nkey = "oozers"\ntitle = "Twice"\n[[sets]]', "set oozers: It is there twice."),
    ],
)
def test_each_fault_of_the_sets_is_told(tmp_path: Path, old: str, new: str, told: str) -> None:
    assert old in SETS
    report = folders.report(folders.write(tmp_path, sets=SETS.replace(old, new, 1)))
    assert any(line.startswith(f"pair-sets.toml, {told}") for line in report.lines), report.lines


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"file": ""}, "It names no file."),
        ({"file": "../a.jpg"}, "The name of the file leads out of the folder pictures/."),
        ({"file": "/a.jpg"}, "The name of the file leads out of the folder pictures/."),
        ({"file": "b.jpg"}, "There is no file pictures/b.jpg."),
        ({"form": ""}, "It names no form."),
        ({"form": "gone"}, "There is no form gone."),
        ({"use": "test"}, "use says test."),
        ({"dcterms:rights": "mine"}, "The licence mine is unknown."),
        ({"dcterms:rights": "CC-BY-NC-5.0"}, "The licence CC-BY-NC-5.0 is unknown."),
        ({"dcterms:rights": "CC-PDM-1.0"}, "It is marked as in the public domain, and no reason is given: a mark alone is no grant."),
        ({"dc:creator": ""}, "It has a licence and no dc:creator."),
        ({"photoshop:Credit": ""}, "It has a licence and no photoshop:Credit."),
        ({"subjectOrientation": "upside down"}, "The orientation upside down is unknown."),
        ({"marks": "tail 0 0 1 1"}, "There is no trait tail to mark."),
        ({"marks": "bill 0 0 1 1; bill 0 0 .5 .5"}, "The trait bill is marked twice."),
        ({"pose": "x" * 41}, "pose has 41 signs."),
        ({"alt": "a\x01b"}, "The text 'a\\x01b' holds a control sign."),
    ],
)
def test_each_fault_of_a_row_is_told(tmp_path: Path, change: dict[str, str], told: str) -> None:
    report = folders.report(folders.write(tmp_path, rows=[{**ROW, **change}], files={"a.jpg": b"a"}))
    assert told in [fault.wrong for fault in report.faults]
    assert all(fault.where.startswith("pictures.csv, line 2") and fault.mend for fault in report.faults)


def test_a_file_named_twice_is_told(tmp_path: Path) -> None:
    report = folders.report(folders.write(tmp_path, rows=[ROW, {**ROW, "file": "A.jpg"}], files={"a.jpg": b"a", "A.jpg": b"b"}))
    assert [fault.wrong for fault in report.faults] == ["The file is named in line 2 already."]


def test_the_same_picture_under_two_names_is_told(tmp_path: Path) -> None:
    rows = [ROW, {**ROW, "file": "b.jpg"}, {**ROW, "file": "c.jpg"}]
    report = folders.report(folders.write(tmp_path, rows=rows, files={"a.jpg": b"1", "b.jpg": b"2", "c.jpg": b"1"}))
    assert report.lines == ("pictures.csv, line 4 (c.jpg): It is the same picture as a.jpg in line 2. Keep one of the two.",)


def test_like_pictures_on_both_sides_of_a_test_are_told(tmp_path: Path) -> None:
    rows = [
        {**ROW, "cluster": "c1"},
        {**ROW, "file": "b.jpg", "use": "held-out", "cluster": "c1"},
        {**ROW, "file": "c.jpg", "use": "held-out", "cluster": "c2"},
        {**ROW, "file": "d.jpg", "use": "held-out", "cluster": "c2"},
    ]
    (fault,) = folders.report(folders.write(tmp_path, rows=rows)).faults
    assert (fault.where, fault.mend) == ("pictures.csv, lines 2 and 3", "Put all of a cluster to one use.")


def test_faults_of_all_files_are_told_at_once(tmp_path: Path) -> None:
    folder = folders.write(
        tmp_path,
        catalogue=CATALOGUE.replace('subject = "bird"', 'subject = "bards"').replace('kind = "colour"', 'kind = "hue"'),
        sets="[[sets",
        rows=[{**ROW, "form": "gone", "use": "test"}],
    )
    assert len(folders.report(folder).faults) == 5


def test_of_an_unreadable_catalogue_only_that_is_told(tmp_path: Path) -> None:
    report = folders.report(folders.write(tmp_path, catalogue="["))
    assert [fault.where for fault in report.faults] == ["catalogue.toml"]
    assert report.wanted == ()
