"""Questions as items of QTI 3.0: one a picture and pair, in a package with a manifest.

Source: 1EdTech QTI 3.0, assessment items and content packaging.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final
from xml.etree import ElementTree as Tree

from drillhall.words import joined, say, speaking
from drillhall.words.said import all_told
from drillhall.words.speaking import ENGLISH, known_language

NAME: Final = "qti"
TITLE: Final = say("QTI 3.0, for a system of tests")
MEDIA_TYPE: Final = "application/zip"
ITEM_SPACE: Final = "http://www.imsglobal.org/xsd/imsqtiasi_v3p0"
PACKAGE_SPACE: Final = "http://www.imsglobal.org/xsd/qti/qtiv3p0/imscp_v1p1"
ITEM_TYPE: Final = "imsqti_item_xmlv3p0"
MANIFEST: Final = "imsmanifest.xml"
CREDITS: Final = "credits.txt"


@dataclass(frozen=True, slots=True)
class Item:
    """One question: a picture and two names, of which the one at `right` (0 or 1) is right; no name in it tells the answer.

    picture: the name of its file in the package; alt, credit: words that stand with it before it is answered.
    """

    id: str
    title: str
    language: str
    picture: str
    width_px: int
    height_px: int
    alt: str
    credit: str
    names: tuple[str, str]
    right: int


def item_file(item: Item) -> bytes:
    """Return one item, scored 1 where the right name is chosen and else 0; what the hall says in it is told in the item's language."""
    root = Tree.Element(
        "qti-assessment-item",
        {
            "xmlns": ITEM_SPACE,
            "identifier": item.id,
            "title": item.title,
            "adaptive": "false",
            "time-dependent": "false",
            "xml:lang": item.language,
        },
    )
    response = _child(root, "qti-response-declaration", {"identifier": "RESPONSE", "cardinality": "single", "base-type": "identifier"})
    _child(_child(response, "qti-correct-response"), "qti-value", text="AB"[item.right])
    score = _child(root, "qti-outcome-declaration", {"identifier": "SCORE", "cardinality": "single", "base-type": "float"})
    _child(_child(score, "qti-default-value"), "qti-value", text="0")
    _body(root, item)
    _scoring(root)
    return _bytes(root)


def manifest_file(package_id: str, items: Sequence[Item]) -> bytes:
    """Return the manifest of a package: every item with its picture, and the credits."""
    root = Tree.Element("manifest", {"xmlns": PACKAGE_SPACE, "identifier": package_id})
    about = _child(root, "metadata")
    _child(about, "schema", text="QTI Package")
    _child(about, "schemaversion", text="3.0.0")
    _child(root, "organizations")
    resources = _child(root, "resources")
    for item in items:
        href = item_name(item)
        one = _child(resources, "resource", {"identifier": f"r-{item.id}", "type": ITEM_TYPE, "href": href})
        _child(one, "file", {"href": href})
        _child(one, "file", {"href": f"pictures/{item.picture}"})
    credits_ = _child(resources, "resource", {"identifier": "r-credits", "type": "webcontent", "href": CREDITS})
    _child(credits_, "file", {"href": CREDITS})
    return _bytes(root)


def item_name(item: Item) -> str:
    """Return the name of an item's file in the package."""
    return f"items/{item.id}.xml"


def credits_file(lines: Iterable[str], left_out: Iterable[str]) -> bytes:
    """Return the whole credits, which may tell answers and so stand apart, and what was left out and why; in the language spoken."""
    parted = list(left_out)
    told = [
        say("Credits of the pictures:"),
        *lines,
        *(["", say("Left out, since their rights do not let them go:"), *parted] if parted else []),
    ]
    return (joined("\r\n", told).told(speaking()) + "\r\n").encode()


def _body(root: Tree.Element, item: Item) -> None:
    body, language = _child(root, "qti-item-body"), known_language(item.language) or ENGLISH
    alt, credit, asks, *names = all_told((item.alt, item.credit, say("Which of the two is it?"), *item.names), language)
    about = {"src": f"../pictures/{item.picture}", "alt": alt, "width": str(item.width_px), "height": str(item.height_px)}
    _child(_child(body, "p"), "img", about)
    choosing = {"response-identifier": "RESPONSE", "shuffle": "true", "max-choices": "1", "min-choices": "1"}
    asked = _child(body, "qti-choice-interaction", choosing)
    _child(asked, "qti-prompt", text=asks)
    for place, name in zip("AB", names, strict=True):
        _child(asked, "qti-simple-choice", {"identifier": place}, text=name)
    _child(body, "p", text=credit)


def _scoring(root: Tree.Element) -> None:
    condition = _child(_child(root, "qti-response-processing"), "qti-response-condition")
    fits = _child(condition, "qti-response-if")
    match = _child(fits, "qti-match")
    _child(match, "qti-variable", {"identifier": "RESPONSE"})
    _child(match, "qti-correct", {"identifier": "RESPONSE"})
    _child(_child(fits, "qti-set-outcome-value", {"identifier": "SCORE"}), "qti-base-value", {"base-type": "float"}, text="1")


def _child(parent: Tree.Element, name: str, about: dict[str, str] | None = None, *, text: str = "") -> Tree.Element:
    made = Tree.SubElement(parent, name, about or {})
    made.text = text or None
    return made


def _bytes(root: Tree.Element) -> bytes:
    written: bytes = Tree.tostring(root, encoding="utf-8", xml_declaration=True)
    return written
