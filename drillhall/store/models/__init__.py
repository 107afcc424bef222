"""The tables, one file per subject; importing the room makes them all known."""

from drillhall.store.models import (
    catalogue,
    concepts,
    field_tests,
    groups,
    in_words,
    joins,
    open_questions,
    people,
    pictures,
    post,
    practice,
    rarity,
    rosters,
    seasons,
)

__all__ = [
    "catalogue",
    "concepts",
    "field_tests",
    "groups",
    "in_words",
    "joins",
    "open_questions",
    "people",
    "pictures",
    "post",
    "practice",
    "rarity",
    "rosters",
    "seasons",
]
