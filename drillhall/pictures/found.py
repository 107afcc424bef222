"""Reads what a file says of itself: who made it, its rights, its day, and whether a program made it up; to be confirmed, never obeyed.

The three blocks that a picture may carry are EXIF, IPTC-IIM and XMP. Where they disagree, XMP counts before IPTC and IPTC before
EXIF (the order: from memory of the Metadata Working Group's guidance, for fields that have no digest), and the disagreement is told.

Source of the fields: IPTC Photo Metadata Standard 2025.1; EXIF tags: CIPA DC-008.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from datetime import date, datetime
from typing import Any, Final

from PIL import ExifTags, Image, IptcImagePlugin

from drillhall.core.licences import read_licence
from drillhall.core.rights import Rights
from drillhall.errors import BadPicture
from drillhall.words import joined, say

MOST_SIGNS: Final = 1000
"""More than this of one field is left aside."""

BLOCKS: Final = ("XMP", "IPTC", "EXIF")
FIELDS: Final[Mapping[str, str]] = {
    "creator": say("who made it"),
    "credit": say("how the maker is credited"),
    "copyright": say("its copyright"),
    "rights_owner": say("who holds its rights"),
    "usage_terms": say("what may be done with it"),
    "rights_page": say("the page of its rights"),
    "taken_on": say("the day it was taken"),
    "data_mining": say("whether programs may learn from it"),
    "source_type": say("how it came about"),
}
"""What may be found, and what it is in words. Beside these stand `licence`, a known id, and `differs`, see `differences_in`."""

GENERATED: Final = frozenset({"trainedalgorithmicmedia", "compositewithtrainedalgorithmicmedia", "algorithmicmedia", "compositesynthetic"})
"""Values of Iptc4xmpExt:DigitalSourceType, folded, that name a picture no camera took (two from memory: the third and the last)."""

_RDF: Final = "{http://www.w3.org/1999/02/22-rdf-syntax-ns#}"
_DC: Final = "{http://purl.org/dc/elements/1.1/}"
_RIGHTS: Final = "{http://ns.adobe.com/xap/1.0/rights/}"
_PHOTOSHOP: Final = "{http://ns.adobe.com/photoshop/1.0/}"
_PLUS: Final = "{http://ns.useplus.org/ldf/xmp/1.0/}"
_CC: Final = "{http://creativecommons.org/ns#}"
_XMP_FIELDS: Final[Mapping[str, Sequence[str]]] = {
    "creator": (f"{_DC}creator",),
    "credit": (f"{_PHOTOSHOP}Credit", f"{_CC}attributionName"),
    "copyright": (f"{_DC}rights",),
    "rights_owner": (f"{_PLUS}CopyrightOwner", f"{_RIGHTS}Owner"),
    "usage_terms": (f"{_RIGHTS}UsageTerms",),
    "rights_page": (f"{_RIGHTS}WebStatement", f"{_CC}license"),
    "taken_on": (
        f"{_PHOTOSHOP}DateCreated",
        "{http://ns.adobe.com/exif/1.0/}DateTimeOriginal",
        "{http://ns.adobe.com/xap/1.0/}CreateDate",
    ),
    "data_mining": (f"{_PLUS}DataMining",),
    "source_type": ("{http://iptc.org/std/Iptc4xmpExt/2008-02-29/}DigitalSourceType",),
}
_IIM_FIELDS: Final = {(2, 80): "creator", (2, 110): "credit", (2, 116): "copyright", (2, 55): "taken_on"}
_DAY: Final = re.compile(r"(\d{4})[-:]?(\d{2})[-:]?(\d{2})")
_LINK: Final = re.compile(r"(?:https?:)?//[^\s<>\"'()]+")

# What Pillow and its XML parser raise on blocks that are not what they claim; such a block says nothing and spoils nothing.
_BROKEN: Final = (OSError, SyntaxError, ValueError, TypeError, LookupError, RuntimeError, AttributeError)


def read_found(image: Image.Image) -> dict[str, str]:
    """Return what an opened picture says of itself, field by field; empty where it says nothing.

    Keys are those of FIELDS, `licence` (an id the hall knows) and `differs`. Never a title, a keyword, a description or a place.
    """
    said = {"XMP": _from_xmp(image), "IPTC": _from_iptc(image), "EXIF": _from_exif(image)}
    found: dict[str, str] = {}
    differing: list[tuple[str, dict[str, str]]] = []
    for field in FIELDS:
        words = {block: said[block][field] for block in BLOCKS if field in said[block]}
        if words:
            found[field] = next(iter(words.values()))
        if len({" ".join(one.casefold().split()) for one in words.values()}) > 1:
            differing.append((field, words))
    licences = _licences(said)
    if len(licences) == 1:
        found["licence"] = licences[0]
    elif licences:
        differing.append(("", {one: one for one in licences}))
    if differing:
        found["differs"] = json.dumps(differing, ensure_ascii=False)
    return found


def differences_in(found: Mapping[str, str]) -> str:
    """Return in sentences on what a file does not agree with itself; empty where it does."""
    kept = found.get("differs", "")
    if not kept.startswith("["):
        return kept  # halls of old kept the English sentences
    sentences = []
    for field, words in json.loads(kept):
        if field:
            told = joined(", ", (say("“{words}” in {block}", words=one, block=block) for block, one in words.items()))
            sentences.append(say("The file does not agree with itself on {what}: {told}.", what=FIELDS[field], told=told))
        else:
            licences = ", ".join(words)
            sentences.append(say("The file names more than one licence ({licences}), so none is offered.", licences=licences))
    return joined(" ", sentences)


def refuse_generated(found: Mapping[str, str], *, medium: str = "Photograph") -> None:
    """Raise BadPicture where a file that is to be a photograph says that a program made it up."""
    kind = found.get("source_type", "").rstrip("/").rpartition("/")[2]
    if medium == "Photograph" and kind.casefold() in GENERATED:
        raise BadPicture(
            say(
                "The file says that a program generated it ({kind}). Such a picture shows what was made up, so it "
                "cannot stand for what is seen in the field. Add a photograph instead.",
                kind=kind,
            ),
            field="file",
        )


def found_day(found: Mapping[str, str]) -> date | None:
    """Return the day that a file says it was taken on, or None."""
    return date.fromisoformat(found["taken_on"]) if "taken_on" in found else None


def _licences(said: Mapping[str, Mapping[str, str]]) -> list[str]:
    """Return the ids of the licences that a file names: by address or by name, never by a guess at what its words may mean."""
    ids: dict[str, None] = {}
    for field in ("rights_page", "usage_terms", "copyright"):
        for block in BLOCKS:
            words = said[block].get(field, "")
            for one in (words, *_LINK.findall(words)):
                licence = read_licence(one.rstrip(".,;"))
                if licence is not None:
                    ids[_full_id(licence.id, licence.port)] = None
    return list(ids)


def _full_id(licence_id: str, port: str) -> str:
    return f"{licence_id}-{port.upper()}" if port and not licence_id.endswith(f"-{port.upper()}") else licence_id


def _kept(field: str, words: str) -> str:
    """Return words as they may be kept: one line, no control signs, a day as ISO 8601; empty where that leaves nothing."""
    plain = " ".join("".join(sign if sign.isprintable() else " " for sign in words).split())
    if len(plain) > MOST_SIGNS:
        return ""
    return _day(plain) if field == "taken_on" else plain


def _day(words: str) -> str:
    found = _DAY.match(words)
    try:
        return datetime.strptime("".join(found.groups()), "%Y%m%d").date().isoformat() if found else ""  # noqa: DTZ007 - a day has no zone
    except ValueError:
        return ""


def _clean(said: Mapping[str, str]) -> dict[str, str]:
    return {field: kept for field, words in said.items() if (kept := _kept(field, words))}


def _from_exif(image: Image.Image) -> dict[str, str]:
    try:
        exif = image.getexif()
        inner = exif.get_ifd(ExifTags.IFD.Exif)
        said = {
            "creator": exif.get(ExifTags.Base.Artist),
            "copyright": exif.get(ExifTags.Base.Copyright),
            "taken_on": inner.get(ExifTags.Base.DateTimeOriginal),
        }
        # A copyright may hold the photographer's and the editor's, parted by a zero.
        return _clean({field: "; ".join(filter(str.strip, _text(words).split("\0"))) for field, words in said.items() if words})
    except _BROKEN:
        return {}


def _from_iptc(image: Image.Image) -> dict[str, str]:
    try:
        read = IptcImagePlugin.getiptcinfo(image) or {}  # type: ignore[arg-type]  # it judges by itself whether the file can hold any
    except _BROKEN:
        return {}
    said = {}
    for key, field in _IIM_FIELDS.items():
        values = read.get(key, [])
        said[field] = "; ".join(_text(one) for one in (values if isinstance(values, list) else [values]))
    return _clean(said)


def _from_xmp(image: Image.Image) -> dict[str, str]:
    try:
        packet = image.getxmp(strip_namespaces=False)
        described = packet["{adobe:ns:meta/}xmpmeta"][f"{_RDF}RDF"][f"{_RDF}Description"]
    except _BROKEN:
        return {}
    said: dict[str, str] = {}
    for part in described if isinstance(described, list) else [described]:
        for field, names in _XMP_FIELDS.items():
            for name in names:
                if isinstance(part, dict) and not said.get(field) and part.get(name):
                    said[field] = _plain(part[name])
    return _clean(said)


def _plain(value: Any) -> str:
    """Return a property's words: of an address, of one language (the default one first), or of several values in a row."""
    if isinstance(value, list):
        return "; ".join(filter(None, map(_plain, value)))
    if not isinstance(value, dict):
        return value if isinstance(value, str) else ""
    if f"{_RDF}Alt" in value:
        alternatives = value[f"{_RDF}Alt"].get(f"{_RDF}li") if isinstance(value[f"{_RDF}Alt"], dict) else None
        listed = alternatives if isinstance(alternatives, list) else [alternatives]
        return _plain(next((one for one in listed if isinstance(one, dict) and "x-default" in one.values()), listed[0]))
    for name in (f"{_RDF}Seq", f"{_RDF}Bag", f"{_RDF}li", f"{_PLUS}CopyrightOwnerName", f"{_RDF}resource", f"{_RDF}Description", "text"):
        if value.get(name):
            return _plain(value[name])
    return ""


def _text(value: object) -> str:
    """Return the words of a field of EXIF or IIM: UTF-8 where they are that, else Latin-1, which Pillow takes EXIF for."""
    raw = value if isinstance(value, bytes) else str(value).encode("latin-1", "replace")
    try:
        return raw.decode()
    except UnicodeDecodeError:
        return raw.decode("latin-1")


def offered_rights(found: Mapping[str, str], *, maker: str = "") -> Rights:
    """Return the rights that a file says, to be offered and confirmed; `maker` is offered where it names nobody."""
    creator = found.get("creator", maker)[:200]
    mining = found.get("data_mining", "").rpartition("/")[2]
    return Rights(
        creator=creator,
        licence=read_licence(found.get("licence", "")),
        credit=found.get("credit", creator)[:300],
        rights_owner=found.get("rights_owner", "")[:200],
        statement=found.get("copyright", ""),
        data_mining=mining if mining.startswith("DMI-") else "",
    )
