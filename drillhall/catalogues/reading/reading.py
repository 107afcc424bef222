"""Reads the three files of a folder and joins them to one value."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

from drillhall.catalogues.folder import (
    CATALOGUE_FILE,
    PICTURES_FILE,
    SETS_FILE,
    Fault,
    Folder,
    FolderCatalogue,
    FolderSet,
    Source,
)
from drillhall.catalogues.reading.rows import pictures_of
from drillhall.catalogues.reading.said import catalogue_of, sets_of
from drillhall.catalogues.reading.sources import MAX_TEXT_BYTES, open_source
from drillhall.catalogues.reading.tables import decode, parse
from drillhall.errors import BadImport
from drillhall.words import say


def read_folder(path: Path) -> Folder:
    """Read a catalogue from its folder or from a zip of it; close the folder when done with its pictures.

    Raises BadImport where there is no such folder or the zip as a whole is not safe; all else that is wrong is noted in `faults`.
    """
    source = open_source(path)
    faults = list(source.faults)
    said = _content(source, CATALOGUE_FILE, faults)
    if CATALOGUE_FILE not in source.sizes:
        mend = say("A catalogue's folder holds catalogue.toml, and beside it pair-sets.toml, pictures.csv and pictures/.")
        faults.append(Fault(CATALOGUE_FILE, say("It is missing."), mend))
    catalogue = FolderCatalogue("", "", "", "") if said is None else catalogue_of(said, faults)
    pair_sets, sets_beside = sets_of(_content(source, SETS_FILE, faults) or {}, faults)
    raw = _bytes(source, PICTURES_FILE, faults)
    rows = None if raw is None else decode(raw, PICTURES_FILE, faults)
    catalogue = replace(
        catalogue,
        sets=_as_written(pair_sets, catalogue),
        pictures=() if rows is None else pictures_of(rows, faults),
        sets_beside=sets_beside,
    )
    return Folder(catalogue, source, tuple(faults), is_whole=said is not None)


def _content(source: Source, name: str, faults: list[Fault]) -> dict[str, Any] | None:
    raw = _bytes(source, name, faults)
    return None if raw is None else parse(raw, name, faults)


def _bytes(source: Source, name: str, faults: list[Fault]) -> bytes | None:
    """Return a text file's bytes; None where it is not there, too large (which is noted already) or damaged."""
    if source.sizes.get(name, MAX_TEXT_BYTES + 1) > MAX_TEXT_BYTES:
        return None
    try:
        return source.read(name)
    except BadImport as error:
        faults.append(Fault(name, error.sentence, say("Then try again.")))
        return None


def _as_written(sets: tuple[FolderSet, ...], catalogue: FolderCatalogue) -> tuple[FolderSet, ...]:
    """Return the sets with each pair's forms in the order in which the catalogue declares the pair."""
    declared = {pair.forms[::-1]: pair.forms for pair in catalogue.pairs}
    return tuple(
        replace(one, stages=tuple(replace(stage, pairs=tuple(declared.get(pair, pair) for pair in stage.pairs)) for stage in one.stages))
        for one in sets
    )
