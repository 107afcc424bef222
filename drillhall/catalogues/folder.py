"""What a catalogue's folder says, as frozen values; two folders say the same when their values are equal."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any, Final, Protocol

from drillhall.core.regions import Region
from drillhall.core.values import Mark, Measured, Tongues
from drillhall.words import joined

CATALOGUE_FILE: Final = "catalogue.toml"
SETS_FILE: Final = "pair-sets.toml"
PICTURES_FILE: Final = "pictures.csv"
PICTURES_FOLDER: Final = "pictures/"

Extra = Mapping[str, Any]
"""What a file says beyond our words, kept as it is."""

PairOfKeys = tuple[str, str]
"""Two form keys in the order in which the author wrote them."""


@dataclass(frozen=True, slots=True)
class Fault:
    """Something wrong in a folder: where (file, row or key), what is wrong, and how to mend it, each a sentence."""

    where: str
    wrong: str
    mend: str

    @property
    def line(self) -> str:
        """The fault in one line."""
        return joined("", (self.where, ": ", self.wrong, " ", self.mend))


@dataclass(frozen=True, slots=True)
class SaidChance:
    """How often a form shows a state: a word, or `shown` of `of` specimens, never both."""

    word: str = ""
    shown: int | None = None
    of: int | None = None


@dataclass(frozen=True, slots=True)
class FolderState:
    """One state of a trait; `said` is label and also_called in other languages."""

    key: str
    label: str
    also_called: tuple[str, ...] = ()
    colour: str = ""
    extra: Extra = field(default_factory=dict)
    said: Tongues = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class FolderTrait:
    """One trait with its states in order; one with a `unit` is measured and needs no states; `said` is label and ask in others."""

    key: str
    label: str
    part: str
    kind: str
    states: tuple[FolderState, ...]
    ask: str = ""
    note: str = ""
    extra: Extra = field(default_factory=dict)
    unit: str = ""
    said: Tongues = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class FolderName:
    """What another list calls a form; `vernacular_name` may be empty."""

    list_name: str
    scientific_name: str
    vernacular_name: str = ""

    def __str__(self) -> str:
        """Return it in one line, as it is typed on a page."""
        return " | ".join(word for word in (self.list_name, self.scientific_name, self.vernacular_name) if word)


@dataclass(frozen=True, slots=True)
class FolderCalled:
    """What a form is called in another language than the catalogue's (BCP 47)."""

    language: str
    name: str

    def __str__(self) -> str:
        """Return it in one line, as it is typed on a page."""
        return f"{self.language} | {self.name}"


@dataclass(frozen=True, slots=True)
class FolderMapping:
    """How the boundary of one concept lies to that of another: a TaxonConceptMapping of TCS 2."""

    subject: str
    relation: str
    object: str
    according_to: str = ""


@dataclass(frozen=True, slots=True)
class FolderForm:
    """One form; `length_mm` is how long it really is, where that is said; `traits` says trait key → state key → how often.

    `commonness` is a word for how common it is here and now, `also_named` what other lists call it, `called` what other languages do.
    `measures` says trait key → what it measures, in the trait's unit.
    """

    key: str
    scientific_name: str
    vernacular_name: str
    taxon_concept_id: str
    taxon_rank: str = "species"
    sex: str = ""
    life_stage: str = ""
    plumage: str = ""
    variant: str = ""
    length_mm: int | None = None
    commonness: str = ""
    also_named: tuple[FolderName, ...] = ()
    called: tuple[FolderCalled, ...] = ()
    note: str = ""
    traits: Mapping[str, Mapping[str, SaidChance]] = field(default_factory=dict)
    measures: Mapping[str, Measured] = field(default_factory=dict)
    extra: Extra = field(default_factory=dict)

    @property
    def identity(self) -> tuple[str, str, str, str, str]:
        """What makes it one form in the whole hall."""
        return (self.taxon_concept_id, self.sex, self.life_stage, self.plumage, self.variant)


@dataclass(frozen=True, slots=True, order=True)
class FolderThird:
    """A form that shares a misleading trait with a pair."""

    form: str
    trait: str


@dataclass(frozen=True, slots=True)
class FolderPair:
    """Two forms that get confused; `said` is the note in other languages."""

    forms: PairOfKeys
    note: str = ""
    neither: bool = True
    third_share: float = 0.05
    thirds: tuple[FolderThird, ...] = ()
    extra: Extra = field(default_factory=dict)
    said: Tongues = field(default_factory=dict)

    @property
    def key(self) -> str:
        """Its name within the catalogue; form keys hold no colon."""
        return ":".join(self.forms)


@dataclass(frozen=True, slots=True)
class FolderStage:
    """One stage of a pair set, with its pairs in order; pictures of some poses and distances alone where it names any."""

    title: str
    pairs: tuple[PairOfKeys, ...]
    poses: tuple[str, ...] = ()
    distances: tuple[str, ...] = ()
    extra: Extra = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class FolderSet:
    """A pair set with its stages in order."""

    key: str
    title: str
    stages: tuple[FolderStage, ...]
    note: str = ""
    extra: Extra = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class FolderPicture:
    """One row of pictures.csv; `file` is its name within pictures/, `row` its line in the file and no part of what it says.

    `frame` is what the picture is cut to; `agreed` names purposes in the words of `core.rights.Purpose`.
    """

    file: str
    form: str
    use: str = "practice"
    creator: str = ""
    licence: str = ""
    credit: str = ""
    rights_owner: str = ""
    source: str = ""
    title: str = ""
    statement: str = ""
    medium: str = "Photograph"
    taken_on: date | None = None
    orientation: str = ""
    pose: str = ""
    distance: str = ""
    setting: str = ""
    typical: bool = True
    alt: str = ""
    cluster: str = ""
    marks: tuple[Mark, ...] = ()
    frame: Region | None = None
    agreed: tuple[str, ...] = ()
    granted_by: str = ""
    granted_on: date | None = None
    until: date | None = None
    evidence: str = ""
    data_mining: str = ""
    extra: Mapping[str, str] = field(default_factory=dict)
    row: int = field(default=0, compare=False)


@dataclass(frozen=True, slots=True)
class FolderCatalogue:
    """All that a folder says; `beside` and `sets_beside` are what its two TOML files say outside our tables."""

    key: str
    title: str
    subject: str
    list_name: str
    language: str = "en"
    note: str = ""
    mappings: tuple[FolderMapping, ...] = ()
    traits: tuple[FolderTrait, ...] = ()
    forms: tuple[FolderForm, ...] = ()
    pairs: tuple[FolderPair, ...] = ()
    sets: tuple[FolderSet, ...] = ()
    pictures: tuple[FolderPicture, ...] = ()
    extra: Extra = field(default_factory=dict)
    beside: Extra = field(default_factory=dict)
    sets_beside: Extra = field(default_factory=dict)

    def without_pictures(self) -> FolderCatalogue:
        """Return the same catalogue without its pictures."""
        return replace(self, pictures=())


class Source(Protocol):
    """Where a folder's files come from: a real folder or a zip, bounded and without a way out of it."""

    @property
    def sizes(self) -> Mapping[str, int]:
        """The files by their name within the folder, with their size in bytes."""

    @property
    def faults(self) -> tuple[Fault, ...]:
        """What is wrong with the folder as such."""

    def read(self, name: str) -> bytes:
        """Return a file's bytes."""

    def close(self) -> None:
        """Let go of whatever is held open."""


@dataclass(frozen=True, slots=True)
class Folder:
    """A folder as read: what it says, where its files are, and what was wrong already at reading.

    `is_whole` is False where a file could not be read at all, so that what is said elsewhere of its content cannot be judged.
    """

    catalogue: FolderCatalogue
    source: Source
    faults: tuple[Fault, ...] = ()
    is_whole: bool = True

    def picture_bytes(self, picture: FolderPicture) -> bytes:
        """Return the bytes of a picture's file."""
        return self.source.read(PICTURES_FOLDER + picture.file)

    def digest(self, picture: FolderPicture) -> str:
        """Return the SHA-256 of a picture's file."""
        return hashlib.sha256(self.picture_bytes(picture)).hexdigest()

    def has_file(self, picture: FolderPicture) -> bool:
        """Whether a picture's file is there."""
        return PICTURES_FOLDER + picture.file in self.source.sizes

    def close(self) -> None:
        """Let go of whatever is held open."""
        self.source.close()
