"""Items as QTI 3.0: well-formed by an XML parser of its own, and of the structure that 1EdTech's information model asks for."""

from __future__ import annotations

import re
from dataclasses import replace
from xml.etree.ElementTree import Element

from defusedxml.ElementTree import fromstring

from drillhall.core.term_words import plain_alt
from drillhall.practice.exports.qti import Item, item_file, manifest_file

# 1EdTech QTI 3.0, namespaces of items and of packages; from public examples of the standard.
ITEM = "{http://www.imsglobal.org/xsd/imsqtiasi_v3p0}"
PACKAGE = "{http://www.imsglobal.org/xsd/qti/qtiv3p0/imscp_v1p1}"
ONE = Item(
    id="q00001",
    title='Fiddlers & "friends" 1',
    language="en",
    picture="p0001.webp",
    width_px=800,
    height_px=533,
    alt="Photograph for this question",
    credit="Photograph: Ada <Mudd>",
    names=("A & B", "C < D"),
    right=1,
)


def check_item(root: Element) -> None:
    """Check the structure of an item: what must be there, once, and that every name that is used is declared."""
    assert root.tag == f"{ITEM}qti-assessment-item"
    assert {"identifier", "title", "adaptive", "time-dependent"} <= root.attrib.keys()
    assert re.fullmatch(r"[A-Za-z_][\w.-]*", root.attrib["identifier"]), "an NCName"
    order = [child.tag.removeprefix(ITEM) for child in root]
    assert order == ["qti-response-declaration", "qti-outcome-declaration", "qti-item-body", "qti-response-processing"]
    (declared,) = root.iter(f"{ITEM}qti-response-declaration")
    assert (declared.attrib["cardinality"], declared.attrib["base-type"]) == ("single", "identifier")
    (asked,) = root.iter(f"{ITEM}qti-choice-interaction")
    assert asked.attrib["response-identifier"] == declared.attrib["identifier"]
    assert asked.attrib["max-choices"] == "1"
    assert asked[0].tag == f"{ITEM}qti-prompt"
    choices = [one.attrib["identifier"] for one in asked.iter(f"{ITEM}qti-simple-choice")]
    assert len(choices) == len(set(choices)) == 2
    (right,) = declared.iter(f"{ITEM}qti-value")
    assert right.text in choices
    (outcome,) = root.iter(f"{ITEM}qti-outcome-declaration")
    (set_,) = root.iter(f"{ITEM}qti-set-outcome-value")
    assert set_.attrib["identifier"] == outcome.attrib["identifier"] == "SCORE"
    (match,) = root.iter(f"{ITEM}qti-match")
    assert [one.tag.removeprefix(ITEM) for one in match] == ["qti-variable", "qti-correct"]
    assert {one.attrib["identifier"] for one in match} == {declared.attrib["identifier"]}
    (picture,) = root.iter(f"{ITEM}img")
    assert picture.attrib["alt"]


def check_package(files: dict[str, bytes]) -> list[Element]:
    """Check that a package's manifest names every file in it and no other, and return its items."""
    root = fromstring(files["imsmanifest.xml"])
    assert root.tag == f"{PACKAGE}manifest"
    order = [child.tag.removeprefix(PACKAGE) for child in root]
    assert order == ["metadata", "organizations", "resources"]
    assert root.findtext(f"{PACKAGE}metadata/{PACKAGE}schema") == "QTI Package"
    named = {one.attrib["href"] for one in root.iter(f"{PACKAGE}file")}
    assert named | {"imsmanifest.xml"} == files.keys()
    resources = list(root.iter(f"{PACKAGE}resource"))
    assert len({one.attrib["identifier"] for one in resources}) == len(resources)
    assert all(one.attrib["href"] in {file.attrib["href"] for file in one} for one in resources)
    items = [fromstring(files[one.attrib["href"]]) for one in resources if one.attrib["type"] == "imsqti_item_xmlv3p0"]
    for item in items:
        check_item(item)
    return items


def test_an_item_is_well_formed_and_whole() -> None:
    root = fromstring(item_file(ONE))
    check_item(root)
    assert root.attrib["{http://www.w3.org/XML/1998/namespace}lang"] == "en"
    assert root.findtext(f".//{ITEM}qti-correct-response/{ITEM}qti-value") == "B"
    assert [one.text for one in root.iter(f"{ITEM}qti-simple-choice")] == ["A & B", "C < D"]


def test_what_the_hall_says_in_an_item_is_told_in_the_language_of_its_catalogue() -> None:
    for language, asked in (("de-CH", "Welche von beiden ist es?"), ("pt-BR", "Which of the two is it?")):
        root = fromstring(item_file(replace(ONE, language=language, alt=plain_alt("Drawing"))))
        assert root.findtext(f".//{ITEM}qti-prompt") == asked
        assert [one.attrib["alt"] for one in root.iter(f"{ITEM}img")] == [plain_alt("Drawing").told(language[:2])]


def test_a_manifest_names_what_a_package_holds() -> None:
    files = {"items/q00001.xml": item_file(ONE), "pictures/p0001.webp": b"", "credits.txt": b""}
    files["imsmanifest.xml"] = manifest_file("package", [ONE])
    assert len(check_package(files)) == 1
