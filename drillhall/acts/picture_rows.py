"""Reads what a row of a table says of somebody's own picture: which known form it shows, its words, its rights, its marks."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from drillhall.catalogues.folder import Fault, FolderPicture
from drillhall.catalogues.permission import rights_of
from drillhall.core.licences import HOW_TO_WRITE_ONE, read_licence
from drillhall.core.regions import WHOLE
from drillhall.core.rights import Rights
from drillhall.core.terms import PREFIXES
from drillhall.core.values import Mark, Use
from drillhall.errors import Invalid
from drillhall.pictures.describing import Description, FormSaid
from drillhall.pictures.naming import Meant, NamedForm, the_form_meant
from drillhall.pictures.told import SUBJECT, Told

ONE_OF_TWO: Final = "A or B"
"""The value of dwc:taxonFormula for a picture on which two cannot be told apart. Source: Darwin Core list of terms, 2026-05-26."""
APART: Final = "|"
"""What parts the two in a cell, as in Darwin Core's lists."""
_MEANT: Final = {
    "catalogue": "catalogue",
    "scientific_name": "scientificname",
    "vernacular_name": "vernacularname",
    "sex": "sex",
    "life_stage": "lifestage",
    "plumage": "plumage",
    "variant": "variant",
}
_YES: Final = frozenset({"yes", "true", "1"})
_NO: Final = frozenset({"", "no", "false", "0"})


@dataclass(frozen=True, slots=True)
class ReadRow:
    """A row as read: what it tells, the forms it names, how these are called, and what is wrong with it."""

    row: FolderPicture
    where: str
    told: Told
    form_ids: tuple[int, ...]
    shows: str
    faults: tuple[Fault, ...]


class _Wrong:
    """Collects what is wrong with one row, a field at a time."""

    def __init__(self, where: str) -> None:
        self._where = where
        self.faults: list[Fault] = []

    def note(self, field: str, wrong: str, mend: str = "") -> None:
        """Note one fault of a field."""
        self.faults.append(Fault(self._where, f"{field}: {wrong}", mend))


def read_row(row: FolderPicture, where: str, forms: Sequence[NamedForm]) -> ReadRow:
    """Return what a row tells; where it is wrong, the faults say so and the rest of it is read all the same."""
    beyond, wrong = _beyond(row.extra), _Wrong(where)
    named = _forms(row, beyond, forms, wrong)
    said = Description(
        form=FormSaid(named[0].form_id, named[1].form_id if len(named) > 1 else None) if named else None,
        **{word: beyond.get(_MEANT[word]) or None for word in ("sex", "life_stage", "plumage", "variant") if len(named) < 2},
        pose=row.pose or None,
        orientation=row.orientation or None,
        setting=row.setting or None,
        medium=row.medium,
        cluster=row.cluster or None,
        alt=row.alt or None,
        typical=None if row.typical else False,
        several=_flag("several", beyond, wrong),
        taken_on=row.taken_on,
        use=_use(row, wrong),
        rights=_rights(row, wrong),
    )
    told = Told(_as_sent(said), _marks(row, named, wrong), None if row.frame == WHOLE else row.frame)
    return ReadRow(row, where, told, tuple(one.form_id for one in named), " or ".join(one.name for one in named), tuple(wrong.faults))


def _as_sent(said: Description) -> Description:
    """Return the description, or an empty one where it says no more than any picture does."""
    return Description() if said == Description(medium="Photograph", rights=Rights()) else said


def _beyond(extra: Mapping[str, str]) -> dict[str, str]:
    """Return the cells of further columns by their bare names: `dwc:lifeStage`, `life_stage` and the whole address are one."""
    found: dict[str, str] = {}
    for header, cell in extra.items():
        name = header.strip()
        for iri in PREFIXES.values():
            name = name.removeprefix(iri)
        found.setdefault(name.rpartition(":")[2].replace("_", "").casefold(), cell.strip())
    return found


def _forms(row: FolderPicture, beyond: Mapping[str, str], forms: Sequence[NamedForm], wrong: _Wrong) -> list[NamedForm]:
    """Return the form, or the two, that a row names; none where it names none, or where something is wrong."""
    formula = " ".join(beyond.get("taxonformula", "").split()) or "A"
    if formula not in ("A", ONE_OF_TWO):
        wrong.note("taxonFormula", f"{formula} is not among what the hall understands.", f"Write A, {ONE_OF_TWO}, or leave it empty.")
        return []
    cells = {"key": row.form, **{word: beyond.get(name, "") for word, name in _MEANT.items()}}
    parted = {word: [piece.strip() for piece in cell.split(APART)] for word, cell in cells.items()}
    count = max(len(parted[word]) for word in ("key", "scientific_name", "vernacular_name"))
    if count != (2 if formula == ONE_OF_TWO else 1):
        many = "one form" if count == 1 else f"{count} forms"
        wrong.note(
            "taxonFormula", f"It says {formula}, and the row names {many}.", f"For two, write {ONE_OF_TWO} and part them by {APART}."
        )
        return []
    found = []
    for place in range(count):
        meant = Meant(**{word: pieces[min(place, len(pieces) - 1)] for word, pieces in parted.items()})
        if meant.is_nothing:
            continue
        try:
            found.append(the_form_meant(meant, forms))
        except Invalid as error:
            wrong.note(error.field, error.sentence)
    if len(found) == 2 and found[0].form_id == found[1].form_id:
        wrong.note("form", "Both names mean one form.", "Name two, or one alone.")
    return found if len(found) == count else []


def _rights(row: FolderPicture, wrong: _Wrong) -> Rights:
    if row.licence and read_licence(row.licence) is None:
        wrong.note("dcterms:rights", f"The licence {row.licence} is unknown.", HOW_TO_WRITE_ONE)
        return Rights()
    return rights_of(row)


def _flag(column: str, beyond: Mapping[str, str], wrong: _Wrong) -> bool | None:
    word = beyond.get(column, "").casefold()
    if word not in _YES | _NO:
        wrong.note(column, f"It says {word}.", "Write yes or no.")
    return True if word in _YES else None


def _use(row: FolderPicture, wrong: _Wrong) -> Use | None:
    if row.use not in set(Use):
        wrong.note("use", f"It says {row.use}.", f"Choose one of {', '.join(Use)}.")
        return None
    return None if row.use == Use.PRACTICE else Use(row.use)  # unsaid it follows its series, which is for practice unless told else


def _marks(row: FolderPicture, named: Sequence[NamedForm], wrong: _Wrong) -> tuple[tuple[int | None, Mark], ...]:
    found: dict[int | None, Mark] = {}
    for mark in row.marks:
        trait_id = next((form.traits[mark.trait] for form in named if mark.trait in form.traits), None)
        if trait_id is None and mark.trait != SUBJECT:
            known = (
                "the row names no form, whose catalogue has traits" if not named else f"the catalogue of {named[0].told} has no such trait"
            )
            wrong.note("marks", f"There is no trait {mark.trait} to mark: {known}.", f"Name one of its traits, or {SUBJECT}.")
        elif trait_id in found:
            wrong.note("marks", f"{mark.trait} is marked twice.", "Draw one mark around all of it.")
        else:
            found[trait_id] = mark
    return tuple(found.items())
