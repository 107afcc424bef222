"""The controlled words are those of the standards, and a column is known by any of its names."""

from __future__ import annotations

import pytest

from drillhall.core import terms


def test_orientations_are_the_fourteen_of_the_standard() -> None:
    # Source: TDWG, Audiovisual Core controlled vocabulary for subject orientation: r0000 to r0013.
    assert list(terms.ORIENTATIONS.values()) == [f"r{number:04}" for number in range(14)]


def test_every_part_falls_back_on_a_value_of_the_standard() -> None:
    assert {part.ac_part for part in terms.PARTS.values()} <= set(terms.AC_PART_IDS)
    # Source: the same standard's subject part: "mandible" is the jaw bone, so it is no bill.
    assert terms.ac_part("bill") == "head"


@pytest.mark.parametrize("said", ["r0005", "left", "LEFT", " left ", "http://rs.tdwg.org/acorient/values/r0005"])
def test_an_orientation_is_known_by_label_id_and_iri(said: str) -> None:
    assert terms.orientation_label(said) == "left"


@pytest.mark.parametrize("said", ["", "r0014", "sideways", "http://elsewhere.example/r0005"])
def test_what_is_no_orientation_is_none(said: str) -> None:
    assert terms.orientation_label(said) is None


@pytest.mark.parametrize(
    ("header", "term"),
    [
        ("rights", "dcterms:rights"),
        ("dc:rights", "dc:rights"),
        ("http://purl.org/dc/elements/1.1/rights", "dc:rights"),
        ("http://purl.org/dc/terms/rights", "dcterms:rights"),
        ("Owner", "xmpRights:Owner"),
        ("http://ns.adobe.com/xap/1.0/rights/Owner", "xmpRights:Owner"),
        ("http://ns.adobe.com/xap/1.0/CreateDate", "xmp:CreateDate"),
        ("identifier", "dcterms:identifier"),
        ("dwc:sex", "dwc:sex"),
        (" shelf mark ", "shelf mark"),
    ],
)
def test_a_header_is_known_by_any_of_its_names(header: str, term: str) -> None:
    assert terms.full_term(header) == term


def test_no_term_stands_for_two_things() -> None:
    known = [term for accepted in terms.PICTURE_COLUMNS.values() for term in accepted]
    assert len(known) == len(set(known))
