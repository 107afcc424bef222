"""Writes a catalogue as the files of its folder, in one way for one content, into a real folder or a zip."""

from __future__ import annotations

import csv
import io
import re
import secrets
import shutil
import zipfile
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import IO, Any, Final, Protocol

from drillhall.catalogues.folder import (
    CATALOGUE_FILE,
    PICTURES_FILE,
    PICTURES_FOLDER,
    SETS_FILE,
    FolderCatalogue,
    FolderForm,
    FolderMapping,
    FolderName,
    FolderPair,
    FolderPicture,
    FolderSet,
    FolderStage,
    FolderState,
    FolderTrait,
    SaidChance,
)
from drillhall.catalogues.writing.toml_text import toml_text
from drillhall.catalogues.writing.tongues import lines_of_states, trait_words
from drillhall.core.regions import Region
from drillhall.core.terms import PICTURE_COLUMNS, SELDOM_SAID
from drillhall.core.tongues import words_out
from drillhall.core.values import Mark, Measured
from drillhall.errors import Conflict
from drillhall.words import say

FORMULA: Final = re.compile(r"'*[=+\-@\t\r]")
INLINE: Final = frozenset({"traits.states", "forms.traits", "forms.measures", "forms.names", "pairs.thirds"})
ZIP_DAY: Final = (1980, 1, 1, 0, 0, 0)
"""The same content gives the same zip, so no file in it has a day of its own."""


class Sink(Protocol):
    """Where the files of a folder go."""

    def put(self, name: str, content: bytes) -> None:
        """Write one file."""


@dataclass(frozen=True, slots=True)
class FolderSink:
    """Writes into a folder on disk."""

    path: Path

    def put(self, name: str, content: bytes) -> None:
        """Write one file, and the folders it needs."""
        target = self.path / name
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(content)


@dataclass(frozen=True, slots=True)
class ZipSink:
    """Writes into an open zip, under one folder; text is packed, pictures are stored as they are."""

    file: zipfile.ZipFile
    top: str

    def put(self, name: str, content: bytes) -> None:
        """Write one file."""
        entry = zipfile.ZipInfo(f"{self.top}/{name}", ZIP_DAY)
        entry.external_attr = 0o644 << 16
        entry.compress_type = zipfile.ZIP_STORED if name.startswith(PICTURES_FOLDER) else zipfile.ZIP_DEFLATED
        self.file.writestr(entry, content)


@contextmanager
def open_sink(path: Path, top: str) -> Iterator[Sink]:
    """Yield where to write a folder, or a zip where the path ends in .zip; it appears under its name once it is whole.

    It is written beside under a name of its own, so that two who write to one name at once do not spoil each other's. `top` is the
    folder within a zip. Raises Conflict when something lies at the path already, before or after the writing.
    """
    _refuse_taken(path)
    path.parent.mkdir(parents=True, exist_ok=True)
    beside = path.parent / f".{path.absolute().name}.{secrets.token_hex(4)}.unfinished"
    try:
        if path.suffix.casefold() == ".zip":
            with beside.open("xb") as file, zip_sink(file, top) as sink:
                yield sink
            _refuse_taken(path)
            beside.replace(path)
        else:
            beside.mkdir()
            yield FolderSink(beside)
            _refuse_taken(path)
            path.mkdir(exist_ok=True)
            for name in beside.iterdir():
                name.rename(path / name.name)
            beside.rmdir()
    except BaseException:
        shutil.rmtree(beside) if beside.is_dir() else beside.unlink(missing_ok=True)
        raise


@contextmanager
def zip_sink(file: IO[bytes], top: str) -> Iterator[Sink]:
    """Yield where to write a folder so that it is a zip in an open file; `top` is the folder within it."""
    with zipfile.ZipFile(file, "w") as packed:
        yield ZipSink(packed, top)


def write_folder(catalogue: FolderCatalogue, sink: Sink, content_of: Callable[[FolderPicture], bytes | None]) -> FolderCatalogue:
    """Write all files of a catalogue and return what was written: without the pictures for which `content_of` gives no bytes."""
    pictures = []
    for picture in catalogue.pictures:
        content = content_of(picture)
        if content is not None:
            sink.put(PICTURES_FOLDER + picture.file, content)
            pictures.append(picture)
    written = replace(catalogue, pictures=tuple(pictures))
    for name, text in text_files(written).items():
        sink.put(name, text.encode())
    return written


def text_files(catalogue: FolderCatalogue) -> dict[str, str]:
    """Return the text files of a catalogue by name; one that would say nothing is left out."""
    sets = {"sets": [_set(one) for one in catalogue.sets]} if catalogue.sets else {}
    files = {
        CATALOGUE_FILE: toml_text(_catalogue(catalogue), inline=INLINE | lines_of_states(catalogue)),
        SETS_FILE: toml_text({**catalogue.sets_beside, **sets}, inline=INLINE),
        PICTURES_FILE: pictures_text(catalogue.pictures),
    }
    return {name: text for name, text in files.items() if text}


def pictures_text(pictures: Iterable[FolderPicture]) -> str:
    """Return pictures.csv: our columns under the standards' terms, then those of others by name; empty without pictures."""
    rows = list(pictures)
    if not rows:
        return ""
    extra = sorted({header for picture in rows for header in picture.extra})
    columns = [name for name in PICTURE_COLUMNS if name not in SELDOM_SAID or any(getattr(picture, name) for picture in rows)]
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow([*(PICTURE_COLUMNS[name][0] for name in columns), *map(guard, extra)])
    for picture in rows:
        said = [_cell(getattr(picture, name)) for name in columns]
        writer.writerow([guard(cell) for cell in (*said, *(picture.extra.get(header, "") for header in extra))])
    return out.getvalue()


def guard(cell: str) -> str:
    """Return a cell that no spreadsheet takes for a formula: one that begins like one gets an apostrophe, which reading takes off."""
    return f"'{cell}" if FORMULA.match(cell) else cell


def _refuse_taken(path: Path) -> None:
    if path.is_file() or (path.is_dir() and any(path.iterdir())):
        raise Conflict(say("{path} is there already. Name a new one, so that nothing of yours is overwritten.", path=path))


def _catalogue(catalogue: FolderCatalogue) -> dict[str, Any]:
    head = {
        "key": catalogue.key,
        "title": catalogue.title,
        "language": catalogue.language,
        "subject": catalogue.subject,
        "list": catalogue.list_name,
        **_said(note=catalogue.note),
        **catalogue.extra,
    }
    parts = {
        "mappings": [_mapping(mapping) for mapping in catalogue.mappings],
        "traits": [_trait(trait) for trait in catalogue.traits],
        "forms": [_form(form) for form in catalogue.forms],
        "pairs": [_pair(pair) for pair in catalogue.pairs],
    }
    return {**catalogue.beside, "catalogue": head, **{name: tables for name, tables in parts.items() if tables}}


def _trait(trait: FolderTrait) -> dict[str, Any]:
    return {
        "key": trait.key,
        "label": trait.label,
        **_said(ask=trait.ask),
        "part": trait.part,
        "kind": trait.kind,
        **_said(unit=trait.unit, note=trait.note, states=[_state(state) for state in trait.states]),
        **trait.extra,
        **_said(said=trait_words(trait)),
    }


def _state(state: FolderState) -> dict[str, Any]:
    said = _said(also_called=list(state.also_called), colour=state.colour)
    return {"key": state.key, "label": state.label, **said, **state.extra}


def _form(form: FolderForm) -> dict[str, Any]:
    traits = {trait: {state: _chance(chance) for state, chance in said.items()} for trait, said in form.traits.items()}
    measures = {trait: _measure(one) for trait, one in form.measures.items()}
    return {
        "key": form.key,
        "vernacularName": form.vernacular_name,
        "scientificName": form.scientific_name,
        "taxonRank": form.taxon_rank,
        "taxonConceptID": form.taxon_concept_id,
        **_said(sex=form.sex, lifeStage=form.life_stage, plumage=form.plumage, variant=form.variant, length_mm=form.length_mm),
        **_said(commonness=form.commonness, names=[_name(name) for name in form.also_named], note=form.note),
        **form.extra,
        **_said(vernacularNames={one.language: one.name for one in form.called}, traits=traits, measures=measures),
    }


def _name(name: FolderName) -> Mapping[str, Any]:
    return _said(nameAccordingTo=name.list_name, scientificName=name.scientific_name, vernacularName=name.vernacular_name)


def _mapping(mapping: FolderMapping) -> Mapping[str, Any]:
    return _said(
        subjectTaxonConcept=mapping.subject,
        mappingRelation=mapping.relation,
        objectTaxonConcept=mapping.object,
        mappingAccordingTo=mapping.according_to,
    )


def _chance(chance: SaidChance) -> Any:
    return chance.word if chance.shown is None else {"shown": chance.shown, "of": chance.of}


def _measure(measured: Measured) -> dict[str, Any]:
    counted = {} if measured.n is None else {"n": measured.n}
    return {"mean": measured.mean, "spread": measured.spread, **counted}


def _pair(pair: FolderPair) -> dict[str, Any]:
    return {
        "forms": list(pair.forms),
        **_said(note=pair.note),
        "neither": pair.neither,
        "third_share": pair.third_share,
        **_said(thirds=[{"form": third.form, "trait": third.trait} for third in pair.thirds]),
        **pair.extra,
        **_said(said=words_out(pair.said)),
    }


def _set(one: FolderSet) -> dict[str, Any]:
    stages = [_stage(stage) for stage in one.stages]
    return {"key": one.key, "title": one.title, **_said(note=one.note), **one.extra, "stages": stages}


def _stage(stage: FolderStage) -> dict[str, Any]:
    held = _said(poses=list(stage.poses), distances=list(stage.distances))
    return {"title": stage.title, **held, "pairs": [list(pair) for pair in stage.pairs], **stage.extra}


def _said(**values: Any) -> Mapping[str, Any]:
    """Return what is not empty."""
    return {key: value for key, value in values.items() if value}


def _cell(value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Region):
        return " ".join(f"{number:.6f}" for number in (value.x, value.y, value.width, value.height))
    if isinstance(value, tuple):
        return "; ".join(map(_mark, value)) if value and isinstance(value[0], Mark) else " | ".join(value)
    return "" if value is None else str(value)


def _mark(mark: Mark) -> str:
    return " ".join([mark.trait, *(f"{number:.4f}" for number in (mark.x, mark.y, mark.width, mark.height))])
