"""What a page asks of each thing, field by field, and how what was typed becomes its value."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from drillhall.catalogues.checking.lore import COLOUR, LANGUAGE
from drillhall.catalogues.editing import value_words
from drillhall.catalogues.folder import FolderCalled, FolderName
from drillhall.core import term_words
from drillhall.core.reading import COMMONNESS, COMMONNESS_WORDS
from drillhall.core.terms import LIFE_STAGES, PARTS, SEXES, SUBJECTS, TAXON_RANKS
from drillhall.core.values import TraitKind
from drillhall.errors import Invalid
from drillhall.words import Said, say

LINE: Final = 200
WORD: Final = 120
NOTE: Final = 4000
Choices = tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Asked:
    """One field of a form: its name in the value and on the page, how long it may be, and what may be chosen.

    `choices` are values with their words; `offered` are words that are suggested beside any other; `lines` asks for several lines,
    `whole` for a whole number, or nothing.
    """

    name: str
    label: str
    most: int = LINE
    needed: bool = False
    choices: Choices = ()
    offered: tuple[str, ...] = ()
    note: str = ""
    lines: bool = False
    whole: bool = False


NOT_SAID: Final = say("not said")


def _words(keys: Sequence[str], words: Mapping[str, Said], *, empty: str = "") -> Choices:
    return ((("", empty),) if empty else ()) + tuple((key, words.get(key, key)) for key in keys)


HEAD: Final = (
    Asked("title", say("Title"), needed=True),
    Asked(
        "subject",
        say("What it is about"),
        40,
        needed=True,
        choices=_words(SUBJECTS, value_words.SUBJECTS),
        note=say("The cautions are chosen by it."),
    ),
    Asked("language", say("Language of its names"), 16, needed=True, note=say("Its tag: en is English, pt-BR the Portuguese of Brazil.")),
    Asked("list_name", say("List of names"), needed=True, note=say("The list that its scientific names follow, with its year.")),
    Asked("note", say("Note"), NOTE, lines=True),
)
FORM: Final = (
    Asked("vernacular_name", say("Name"), needed=True),
    Asked("scientific_name", say("Scientific name"), needed=True),
    Asked("taxon_rank", say("Rank"), 40, needed=True, choices=_words(TAXON_RANKS, value_words.TAXON_RANKS)),
    Asked("life_stage", say("Life stage"), 40, choices=_words(LIFE_STAGES, term_words.LIFE_STAGES, empty=NOT_SAID)),
    Asked("plumage", say("Plumage"), 80),
    Asked("sex", say("Sex"), 40, choices=_words(SEXES, term_words.SEXES, empty=NOT_SAID)),
    Asked("variant", say("Variant"), 80, note=say("A morph, a race, a cultivar.")),
    Asked("length_mm", say("Length in mm"), 6, whole=True, note=say("How long it really is, for showing it as from afar.")),
    Asked(
        "commonness",
        say("How common here and now"),
        16,
        choices=_words(tuple(COMMONNESS), COMMONNESS_WORDS, empty=NOT_SAID),
        note=say("For working a form out."),
    ),
    Asked("also_named", say("Names under other lists"), NOTE, lines=True, note=say("A line each: List | Scientific name | Common name.")),
    Asked("called", say("Names in other languages"), NOTE, lines=True, note=say("A line each: de | Common name.")),
    Asked("taxon_concept_id", say("Concept id"), note=say("Made from list and scientific name where you leave it empty.")),
    Asked("note", say("Note"), NOTE, lines=True),
)
TRAIT: Final = (
    Asked("label", say("Trait"), 120, needed=True, note=say("Two or three words: bill, tail edge.")),
    Asked("ask", say("Question"), note=say("What a learner is asked: Look at the bill. Which shape is it?")),
    Asked("part", say("Part"), 40, needed=True, offered=tuple(PARTS), note=say("Where on it one looks.")),
    Asked("kind", say("Kind"), 16, needed=True, choices=_words(tuple(kind.value for kind in TraitKind), value_words.TRAIT_KINDS)),
    Asked(
        "unit",
        say("Unit, where it is measured"),
        16,
        note=say("Such as mm, g or Hz. Nobody reads millimetres off a picture, so it is asked there only if it has states too."),
    ),
    Asked("note", say("Note"), NOTE, lines=True),
)
TRAIT_WORDS: Final = (Asked("label", say("Trait"), WORD), Asked("ask", say("Question")))
PAIR_WORDS: Final = (Asked("note", say("Note"), NOTE, lines=True),)
SET: Final = (Asked("title", say("Title"), needed=True), Asked("note", say("Note"), NOTE, lines=True))


def read_asked(fields: Sequence[Asked], typed: Mapping[str, str]) -> dict[str, Any]:
    """Return the values that were typed, by the fields' names; raises Invalid naming the field to mend."""
    return {field.name: _read(field, typed.get(field.name, "")) for field in fields}


def read_words(typed: str) -> tuple[str, ...]:
    """Return words that were typed with commas between them.

    >>> read_words("decurved,  drooping ,")
    ('decurved', 'drooping')
    """
    return tuple(word.strip() for word in typed.split(",") if word.strip())


def read_colour(typed: str) -> str:
    """Return a colour, or raise Invalid."""
    colour = typed.strip()
    if colour and not COLOUR.fullmatch(colour):
        raise Invalid(say("The colour {colour} is none. Write it like #8a7c6d, or leave it empty.", colour=colour), field="colour")
    return colour


def read_names(typed: str) -> tuple[FolderName, ...]:
    """Return names under other lists, a line each, or raise Invalid.

    >>> read_names("Example List | Fictavis limosa")[0].scientific_name
    'Fictavis limosa'
    """
    names = []
    for line in filter(None, (line.strip() for line in typed.splitlines())):
        words = [word.strip() for word in line.split("|")]
        if not 2 <= len(words) <= 3 or not all(words[:2]) or any(len(word) > LINE for word in words):
            raise Invalid(
                say("“{line}” names no list and name. Write: List | Scientific name | Common name.", line=line[:60]), field="also_named"
            )
        names.append(FolderName(*words))
    return tuple(names)


def read_called(typed: str) -> tuple[FolderCalled, ...]:
    """Return names in other languages, a line each, or raise Invalid.

    >>> read_called("de | Wattpfeifer")[0].language
    'de'
    """
    names = []
    for line in filter(None, (line.strip() for line in typed.splitlines())):
        language, _, name = (word.strip() for word in line.partition("|"))
        if not LANGUAGE.fullmatch(language) or not 0 < len(name) <= LINE or "|" in name:
            raise Invalid(say("“{line}” names no language and name. Write: de | Common name.", line=line[:60]), field="called")
        names.append(FolderCalled(language, name))
    return tuple(names)


def _read(field: Asked, typed: str) -> str | int | tuple[FolderName, ...] | tuple[FolderCalled, ...] | None:
    said = typed.replace("\r\n", "\n").strip()
    if field.needed and not said:
        empty = say("{label}: choose one of those shown.", label=field.label) if field.choices else None
        raise Invalid(empty or say("{label} is empty. Write it.", label=field.label), field=field.name)
    if len(said) > field.most:
        raise Invalid(say("{label} is too long: {most} letters at most.", label=field.label, most=field.most), field=field.name)
    if field.choices and said not in {value for value, _ in field.choices}:
        raise Invalid(
            say("{label} says {said}, which is not among the choices. Choose one.", label=field.label, said=said[:40]), field=field.name
        )
    if not field.lines and "\n" in said:
        raise Invalid(say("{label} holds several lines. Write it in one.", label=field.label), field=field.name)
    if field.whole:
        return _read_whole(field, said)
    if field.name == "also_named":
        return read_names(said)
    if field.name == "called":
        return read_called(said)
    if field.name == "language" and not LANGUAGE.fullmatch(said):
        raise Invalid(say("The language {said} is no language tag. Write it like en or pt-BR.", said=said), field=field.name)
    return said


def _read_whole(field: Asked, said: str) -> int | None:
    if not said:
        return None
    if not (said.isascii() and said.isdigit() and int(said)):
        raise Invalid(say("{label} must be a whole number such as 180, or empty.", label=field.label), field=field.name)
    return int(said)
