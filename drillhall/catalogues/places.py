"""Names places in a catalogue's folder, as a fault tells where it is."""

from __future__ import annotations

from drillhall.words import Said, joined, say


def within_file(file: str, *path: object) -> Said:
    """Return how a place in a file is named in a fault: the file, then ever smaller parts of it."""
    return joined(", ", (file, *path))


def line_of(table: str, line: int) -> Said:
    """Return how a line of a file is named in a fault."""
    return say("{table}, line {line}", table=table, line=line)


def row_of(table: str, line: int, file: str) -> Said:
    """Return how the row of a picture is named in a fault."""
    return say("{table}, line {line} ({file})", table=table, line=line, file=file or say("without a file"))
