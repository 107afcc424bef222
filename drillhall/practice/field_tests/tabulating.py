"""Lays a test's results out as tables to keep: one of the sitters, one of the questions."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import date
from types import MappingProxyType
from typing import Final

from drillhall.practice.field_tests.marking import Sitter
from drillhall.practice.field_tests.results import ClassResults, QuestionTold
from drillhall.practice.tables import Cell, Column, Table
from drillhall.words import joined, say, say_n

_OPEN: Final = say("A question left open counts as not right.")


def sitters_table(title: str, results: ClassResults, lines: Sequence[QuestionTold], on: date) -> Table:
    """Return who had which question right: 1, 0, or nothing where it was left open; those who may not be named are left out."""
    questions = results.marked.questions
    columns = (
        Column("name", say("Who")),
        Column("right", say("Right")),
        Column("asked", say("Asked")),
        Column("answered", say("Answered")),
        Column("by_guessing", say("Chance of a guesser to have as many")),
        *(Column(f"question_{one.place}", say("Question {number}", number=one.place)) for one in questions),
    )
    return Table(
        name="sitters",
        title=say("{title}: sitters", title=title),
        about=say("Each learner's first sitting; a question is 1 where she had it right, 0 where not, empty where she left it open."),
        columns=columns,
        rows=tuple(_sitter_row(one) for one in results.named),
        made_on=on,
        notes=(_OPEN, _left_out(results)) if _left_out(results) else (_OPEN,),
    )


def questions_table(title: str, results: ClassResults, lines: Sequence[QuestionTold], on: date) -> Table:
    """Return each question's facility, item-rest correlation and discrimination."""
    columns = (
        Column("question", say("Question")),
        Column("pair", say("Pair")),
        Column("shows", say("Shows")),
        Column("right", say("Right")),
        Column("of", say("Of")),
        Column("facility", say("Facility")),
        Column("item_rest", say("With the rest")),
        Column("discrimination", say("Upper less lower 27 %")),
        Column("doubt", say("Doubt")),
        Column("dropped", say("Dropped")),
    )
    return Table(
        name="questions",
        title=say("{title}: questions", title=title),
        about=say("How hard each question was and whether it parts those who know from those who do not, by each learner's first sitting."),
        columns=columns,
        rows=tuple(_question_row(one) for one in lines),
        made_on=on,
        notes=(_OPEN, say("Upper and lower groups are compared from 20 sitters on.")),
    )


Tabulates = Callable[[str, ClassResults, Sequence[QuestionTold], date], Table]

TABLES: Final[Mapping[str, Tabulates]] = MappingProxyType({"sitters": sitters_table, "questions": questions_table})


def _left_out(results: ClassResults) -> str:
    left_out = results.others + results.marked.untold
    if not left_out:
        return ""
    return say_n(
        "{n} more sat it and has not let you see theirs by name.", "{n} more sat it and have not let you see theirs by name.", left_out
    )


def _sitter_row(one: Sitter) -> tuple[Cell, ...]:
    marks = (int(right) if said else None for said, right in zip(one.said, one.right, strict=True))
    return (one.name, one.score, len(one.right), one.answered, round(one.by_guessing, 6), *marks)


def _question_row(one: QuestionTold) -> tuple[Cell, ...]:
    item = one.item
    told: tuple[Cell, ...] = (None,) * 5
    if item is not None:
        told = (item.right, item.shown, _rounded(item.facility), _rounded(item.item_rest), _rounded(item.discrimination))
    shows = joined(", ", filter(None, (one.form.name, one.form.wears))) if one.form else None
    pair = f"{one.pair.first.name} / {one.pair.second.name}"
    return (one.number, pair, shows, *told, one.doubt_words or None, int(one.is_dropped))


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, 4)
