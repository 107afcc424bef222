"""Reads what a catalogue says of traits, states and pairs in other languages than its own."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from typing import Any

from drillhall.catalogues.reading.tables import Table
from drillhall.core.values import Words
from drillhall.words import joined, say

NOTE_LONGEST = 4000
LABEL_LONGEST = 120


def words_of_trait(table: Table, states: Collection[str]) -> tuple[dict[str, Words], dict[str, dict[str, Words]]]:
    """Take what a trait is called in other languages: its own words by language, and those of its states by state and language."""
    own: dict[str, Words] = {}
    of_states: dict[str, dict[str, Words]] = {}
    for language, within in _languages(table):
        ask = within.text("ask")
        label = within.text("label", needed=bool(ask), longest=LABEL_LONGEST)
        if label:
            own[language] = Words(label=label, ask=ask)
        for state, said in within.table("states").items():
            if state not in states:
                within.fault(
                    say("There is no state {state}.", state=state), say("Its states are {states}.", states=", ".join(states) or "–")
                )
            elif (words := _of_state(within, state, said)) is not None:
                of_states.setdefault(state, {})[language] = words
        within.nothing_left()
    return own, of_states


def notes_of_pair(table: Table) -> dict[str, Words]:
    """Take the note of a pair in other languages, by language."""
    notes: dict[str, Words] = {}
    for language, within in _languages(table):
        if note := within.text("note", longest=NOTE_LONGEST):
            notes[language] = Words(note=note)
        within.nothing_left()
    return notes


def _languages(table: Table) -> Iterator[tuple[str, Table]]:
    for language, content in table.table("said").items():
        if isinstance(content, dict):
            yield language, Table(content, joined(", ", (table.where, say("said in {language}", language=language))), table.faults)
        else:
            table.fault(
                say("What is said in {language} must be a table.", language=language),
                say("Write it with a line for each word."),
            )


def _of_state(table: Table, state: str, said: Any) -> Words | None:
    """Return what a state is called: a text, or a table with label and also_called."""
    content = {"label": said} if isinstance(said, str) else said
    if not isinstance(content, dict):
        table.fault(
            say("{state} says no words.", state=state),
            say('Write {state} = "...", or {state} = {{ label = "...", also_called = ["..."] }}.', state=state),
        )
        return None
    within = Table(content, joined(", ", (table.where, say("state {state}", state=state))), table.faults)
    words = Words(label=within.text("label", needed=True, longest=LABEL_LONGEST), also_called=within.texts("also_called"))
    within.nothing_left()
    return words
