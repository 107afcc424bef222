"""Controlled words: those of the open standards beside our own finer ones, and the names under which columns may come.

Terms, labels and ids of Darwin Core and Audiovisual Core are by Biodiversity Information Standards (TDWG), CC BY 4.0:
Darwin Core list of terms (standard 450) and Audiovisual Core list of terms with its vocabularies for subject part and
subject orientation (standard 638). What is our own is said to be so.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from drillhall.words import Said, say

SUBJECTS: Final[tuple[str, ...]] = ("bird", "other animal", "plant", "fungus", "shellfish", "other")
"""What a catalogue is about (ours); the cautions are chosen by it. "other" is whatever is no wild species."""

TAXON_RANKS: Final[tuple[str, ...]] = (
    "kingdom",
    "phylum",
    "class",
    "order",
    "family",
    "subfamily",
    "genus",
    "subgenus",
    "species",
    "subspecies",
    "variety",
    "form",
    "cultivar",
)
"""Values of dwc:taxonRank; the standard recommends a list and imposes none."""

CONGRUENT: Final = "isCongruentWith"
DISJOINT: Final = "isDisjointFrom"
MAPPING_RELATIONS: Final = (CONGRUENT, "includes", "isIncludedIn", "partiallyOverlaps", DISJOINT, "intersects")
"""How the boundaries of two taxon concepts may lie to each other. Source: tcs:mappingRelation, Taxon Concept Standard 2."""

SEXES: Final[tuple[str, ...]] = ("female", "male", "hermaphrodite", "indeterminate")
"""Values of dwc:sex; "indeterminate" is ours, for a bird seen and not sexed."""

LIFE_STAGES: Final[tuple[str, ...]] = (
    "egg",
    "larva",
    "pupa",
    "nymph",
    "juvenile",
    "immature",
    "subadult",
    "adult",
    "seedling",
    "flowering",
    "fruiting",
)
"""Values of dwc:lifeStage; plumage and moult are never put here."""

MEDIA: Final[tuple[str, ...]] = ("Photograph", "Drawing", "Illustration", "Diagram", "Painting", "Scan", "Other")
"""Values for ac:subtypeLiteral; "Scan" and "Other" are ours."""

ORIENTATIONS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "unspecifiedOrientation": "r0000",
        "anterior": "r0001",
        "posterior": "r0002",
        "lateral": "r0003",
        "right": "r0004",
        "left": "r0005",
        "dorsal": "r0006",
        "ventral": "r0007",
        "upper": "r0008",
        "lower": "r0009",
        "apical": "r0010",
        "basal": "r0011",
        "oral": "r0012",
        "aboral": "r0013",
    }
)
"""The fourteen values of ac:subjectOrientation, label → local id."""

AC_ORIENTATION_IRI: Final = "http://rs.tdwg.org/acorient/values/"
AC_PART_IRI: Final = "http://rs.tdwg.org/acpart/values/"

AC_PART_IDS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "unspecifiedPart": "p0000",
        "entireOrganism": "p0001",
        "head": "p0013",
        "leg": "p0016",
        "wing": "p0017",
        "antenna": "p0018",
        "forewing": "p0019",
        "hindwing": "p0020",
        "eye": "p0024",
        "shell": "p0025",
        "egg": "p0031",
    }
)
"""Values of ac:subjectPart that our parts fall back on, label → local id."""


@dataclass(frozen=True, slots=True)
class Part:
    """A place on an organism: our finer word and the nearest value of Audiovisual Core."""

    key: str
    label: Said
    ac_part: str = "entireOrganism"


PARTS: Final[Mapping[str, Part]] = MappingProxyType(
    {
        part.key: part
        for part in (
            Part("whole", say("the whole of it")),
            Part("head", say("head"), "head"),
            Part("face", say("face"), "head"),
            Part("crown", say("crown"), "head"),
            # Audiovisual Core's "mandible" is the jaw bone, so a bill falls back on the head.
            Part("bill", say("bill"), "head"),
            Part("eye", say("eye"), "eye"),
            Part("throat", say("throat"), "head"),
            Part("nape", say("nape"), "head"),
            Part("neck", say("neck")),
            Part("breast", say("breast")),
            Part("belly", say("belly")),
            Part("flank", say("flank")),
            Part("back", say("back", ctx="part of an animal")),
            Part("rump", say("rump")),
            Part("vent", say("vent")),
            Part("tail", say("tail")),
            Part("wing", say("wing"), "wing"),
            Part("wing-panel", say("wing panel"), "wing"),
            Part("wing-tip", say("wing tip"), "wing"),
            Part("underwing", say("underside of the wing"), "wing"),
            Part("forewing", say("forewing"), "forewing"),
            Part("hindwing", say("hindwing"), "hindwing"),
            Part("legs", say("legs"), "leg"),
            Part("feet", say("feet"), "leg"),
            Part("antenna", say("antenna"), "antenna"),
            Part("shell", say("shell"), "shell"),
            Part("egg", say("egg"), "egg"),
        )
    }
)
"""Our parts (ours, with the nearest Audiovisual Core value); a catalogue may use a free word beside them."""

DISTANCES: Final[tuple[str, ...]] = ("near", "middle", "far")
"""How far off a picture was taken: every feather shows, the pattern shows, or shape and size alone (ours; common practice, no source)."""

CHANCE_WORDS: Final[Mapping[str, float]] = MappingProxyType(
    {"always": 0.98, "usually": 0.85, "often": 0.60, "sometimes": 0.30, "rarely": 0.10, "never": 0.02}
)
"""What an author's word for how often a form shows a state means (ours; common practice, no source)."""

PREFIXES: Final[Mapping[str, str]] = MappingProxyType(
    {
        "dwc": "http://rs.tdwg.org/dwc/terms/",
        "ac": "http://rs.tdwg.org/ac/terms/",
        "dcterms": "http://purl.org/dc/terms/",
        "dc": "http://purl.org/dc/elements/1.1/",
        "xmp": "http://ns.adobe.com/xap/1.0/",
        "xmpRights": "http://ns.adobe.com/xap/1.0/rights/",
        "photoshop": "http://ns.adobe.com/photoshop/1.0/",
    }
)
"""Namespaces of the standards' terms, by their usual prefix."""

PICTURE_COLUMNS: Final[Mapping[str, tuple[str, ...]]] = MappingProxyType(
    {
        "file": ("file", "dcterms:identifier"),
        "form": ("form",),
        "use": ("use",),
        "creator": ("dc:creator", "dcterms:creator"),
        "licence": ("dcterms:rights", "dcterms:license"),
        "credit": ("photoshop:Credit",),
        "rights_owner": ("xmpRights:Owner",),
        "source": ("dc:source", "dcterms:source"),
        "title": ("dcterms:title", "dc:title"),
        "statement": ("dc:rights",),
        "medium": ("ac:subtypeLiteral",),
        "taken_on": ("xmp:CreateDate",),
        "orientation": ("ac:subjectOrientationLiteral", "ac:subjectOrientation"),
        "pose": ("pose",),
        "distance": ("distance",),
        "setting": ("setting", "ac:physicalSettingLiteral"),
        "typical": ("typical",),
        "alt": ("alt", "dcterms:description"),
        "cluster": ("cluster",),
        "marks": ("marks",),
        "frame": ("frame",),
        "agreed": ("agreed",),
        "granted_by": ("grantedBy", "granted_by"),
        "granted_on": ("grantedOn", "granted_on"),
        "until": ("until",),
        "evidence": ("evidence",),
        "data_mining": ("dataMining", "data_mining"),
    }
)
# Audiovisual Core's physicalSetting says natural, artificial or edited; our setting is what stands behind: mud, water, grass.
"""What a picture's row may say → the terms under which it may come; the first is the one we write, and wins over the rest."""

SELDOM_SAID: Final = frozenset({"distance", "frame", "agreed", "granted_by", "granted_on", "until", "evidence", "data_mining"})
"""Columns that are written only where a row says something in them."""

_KNOWN: Final[tuple[str, ...]] = tuple(term for terms in PICTURE_COLUMNS.values() for term in terms)


def full_term(header: str) -> str:
    """Return the term that a column's header means: with its usual prefix, however it was written; else the header as it is.

    Accepts `dc:creator`, bare `creator` and `http://purl.org/dc/elements/1.1/creator`, in any case. A bare name that two
    terms share means the one that stands first in PICTURE_COLUMNS.

    >>> full_term("Creator"), full_term("http://purl.org/dc/terms/rights"), full_term("dc:rights"), full_term("shelf mark")
    ('dc:creator', 'dcterms:rights', 'dc:rights', 'shelf mark')
    """
    name = header.strip()
    for prefix, iri in PREFIXES.items():
        if name.startswith(iri) and "/" not in name[len(iri) :]:
            name = f"{prefix}:{name[len(iri) :]}"
    folded = name.casefold()
    for term in _KNOWN:
        if folded == term.casefold():
            return term
    for term in _KNOWN:
        if folded == term.rpartition(":")[2].casefold():
            return term
    return name


def orientation_label(said: str) -> str | None:
    """Return the label of an orientation given as label, local id or IRI; None where it is none of the fourteen.

    >>> orientation_label("http://rs.tdwg.org/acorient/values/r0003"), orientation_label("Left"), orientation_label("upside down")
    ('lateral', 'left', None)
    """
    word = said.strip().removeprefix(AC_ORIENTATION_IRI).casefold()
    for label, local_id in ORIENTATIONS.items():
        if word in (label.casefold(), local_id):
            return label
    return None


def ac_part(part: str) -> str:
    """Return the Audiovisual Core value nearest to one of our parts; *unspecifiedPart* for a free word.

    >>> ac_part("bill"), ac_part("gill edge")
    ('head', 'unspecifiedPart')
    """
    known = PARTS.get(part)
    return known.ac_part if known else "unspecifiedPart"
