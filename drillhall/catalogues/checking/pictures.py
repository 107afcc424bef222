"""Checks the rows of pictures.csv and the files they name."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from typing import Final

from drillhall.catalogues.folder import PICTURES_FILE, PICTURES_FOLDER, Fault, Folder, FolderPicture
from drillhall.catalogues.permission import rights_of
from drillhall.catalogues.places import line_of, row_of
from drillhall.catalogues.reading.sources import is_safe_name
from drillhall.core.licences import HOW_TO_WRITE_ONE, PUBLIC_DOMAIN_MARK, WITH_PERMISSION, read_licence
from drillhall.core.rights import check_rights
from drillhall.core.terms import DISTANCES, ORIENTATIONS
from drillhall.core.values import Use
from drillhall.errors import BadImport, BadRights
from drillhall.words import joined, say

LONGEST: Final = {
    "file": 200,
    "medium": 20,
    "pose": 40,
    "setting": 40,
    "cluster": 40,
    "alt": 300,
    "creator": 200,
    "credit": 300,
    "rights_owner": 200,
    "source": 300,
    "title": 300,
    "statement": 4000,
    "licence": 300,
    "granted_by": 200,
    "evidence": 1000,
}
"""Signs that the hall can keep of each."""


def faults_of_pictures(folder: Folder) -> Iterator[Fault]:
    """Check every row, and the rows against one another."""
    forms = {form.key for form in folder.catalogue.forms}
    traits = {trait.key for trait in folder.catalogue.traits}
    rows: dict[str, int] = {}
    for picture in folder.catalogue.pictures:
        where = row_of(PICTURES_FILE, picture.row, picture.file)
        first = rows.setdefault(picture.file.casefold(), picture.row)
        if first != picture.row and picture.file:
            yield Fault(where, say("The file is named in line {first} already.", first=first), say("Name each file once."))
        yield from _bad_file(where, picture, folder)
        yield from _bad_words(where, picture, forms)
        yield from _bad_rights(where, picture)
        yield from _bad_marks(where, picture, traits)
    yield from _same_bytes(folder)
    yield from _split_clusters(folder)


def _bad_file(where: str, picture: FolderPicture, folder: Folder) -> Iterator[Fault]:
    if not picture.file:
        yield Fault(where, say("It names no file."), say("Write the name of a file in pictures/."))
    elif not is_safe_name(picture.file):
        yield Fault(
            where, say("The name of the file leads out of the folder pictures/."), say("Put the file there and write its plain name.")
        )
    elif not folder.has_file(picture):
        yield Fault(where, say("There is no file {file}.", file=PICTURES_FOLDER + picture.file), say("Put it there, or take the row out."))


def _bad_words(where: str, picture: FolderPicture, forms: set[str]) -> Iterator[Fault]:
    if not picture.form:
        yield Fault(where, say("It names no form."), say("Write the key of the form that the picture shows."))
    elif picture.form not in forms:
        yield Fault(
            where, say("There is no form {form}.", form=picture.form), say("Name one of [[forms]] in catalogue.toml, or add it there.")
        )
    if picture.use not in set(Use):
        yield Fault(
            where, say("{name} says {said}.", name="use", said=picture.use), say("Choose one of {choices}.", choices=", ".join(Use))
        )
    if picture.orientation and picture.orientation not in ORIENTATIONS:
        yield Fault(
            where,
            say("The orientation {orientation} is unknown.", orientation=picture.orientation),
            say("Choose one of {choices}.", choices=", ".join(ORIENTATIONS)),
        )
    if picture.distance and picture.distance not in DISTANCES:
        yield Fault(
            where,
            say("The distance {distance} is unknown.", distance=picture.distance),
            say("Choose one of {choices}.", choices=", ".join(DISTANCES)),
        )
    for name, longest in LONGEST.items():
        if len(getattr(picture, name)) > longest:
            yield Fault(
                where,
                say("{name} has {count} signs.", name=name, count=len(getattr(picture, name))),
                say("Make it at most {longest}.", longest=longest),
            )


def _bad_rights(where: str, picture: FolderPicture) -> Iterator[Fault]:
    if not picture.licence:
        return  # it may stay with its owner alone, which `list_wanted` tells
    licence = read_licence(picture.licence)
    if licence == PUBLIC_DOMAIN_MARK and not picture.statement:
        mend = say("Write in dc:rights why nobody has rights in it any more, such as its age.")
        yield Fault(where, say("It is marked as in the public domain, and no reason is given: a mark alone is no grant."), mend)
    if licence is None:
        yield Fault(where, say("The licence {licence} is unknown.", licence=picture.licence), HOW_TO_WRITE_ONE)
    else:
        yield from _bad_permission(where, picture)
    for name, value in (("dc:creator", picture.creator), ("photoshop:Credit", picture.credit)):
        if not value:
            yield Fault(
                where,
                say("It has a licence and no {name}.", name=name),
                say("Write {name}; without it nobody may show the picture.", name=name),
            )


def _bad_permission(where: str, picture: FolderPicture) -> Iterator[Fault]:
    """Yield what contradicts itself in a permission; nobody else is shown a picture by one of which nobody says who gave it, and when."""
    rights = rights_of(picture)
    if rights.licence == WITH_PERMISSION and rights.agreed:
        for name, value in (("grantedBy", rights.granted_by), ("grantedOn", rights.granted_on)):
            if not value:
                yield Fault(
                    where,
                    say("It says what was agreed to, and no {name}.", name=name),
                    say("Write {name}, or leave agreed empty.", name=name),
                )
    try:
        check_rights(rights)
    except BadRights as error:
        if error.field in {"until", "data_mining"}:
            yield Fault(where, joined(": ", (error.field, error.sentence)), "")


def _bad_marks(where: str, picture: FolderPicture, traits: set[str]) -> Iterator[Fault]:
    seen = set()
    for mark in picture.marks:
        if mark.trait not in traits:
            yield Fault(
                where,
                say("There is no trait {trait} to mark.", trait=mark.trait),
                say("Name one of [[traits]] in catalogue.toml, or add it there."),
            )
        if mark.trait in seen:
            yield Fault(where, say("The trait {trait} is marked twice.", trait=mark.trait), say("Draw one mark around all of it."))
        seen.add(mark.trait)


def _same_bytes(folder: Folder) -> Iterator[Fault]:
    """The same file under two names is one picture, and would be met as two."""
    by_size: dict[int, dict[str, FolderPicture]] = defaultdict(dict)
    for picture in folder.catalogue.pictures:
        name = PICTURES_FOLDER + picture.file
        if name in folder.source.sizes:
            by_size[folder.source.sizes[name]][picture.file] = picture
    for alike in by_size.values():
        seen: dict[str, FolderPicture] = {}
        for picture in alike.values() if len(alike) > 1 else ():
            try:
                digest = folder.digest(picture)
            except BadImport as error:
                yield Fault(line_of(PICTURES_FILE, picture.row), error.sentence, say("Then try again."))
                continue
            twin = seen.setdefault(digest, picture)
            if twin is not picture:
                where = row_of(PICTURES_FILE, picture.row, picture.file)
                yield Fault(
                    where, say("It is the same picture as {file} in line {row}.", file=twin.file, row=twin.row), say("Keep one of the two.")
                )


def _split_clusters(folder: Folder) -> Iterator[Fault]:
    """Near-duplicates on both sides would let a test be passed by having practised on its pictures."""
    sides: dict[str, dict[bool, FolderPicture]] = defaultdict(dict)
    for picture in folder.catalogue.pictures:
        if picture.cluster:
            sides[picture.cluster].setdefault(picture.use == Use.HELD_OUT, picture)
    for cluster, side in sides.items():
        if len(side) == 2:
            where = say("{table}, lines {line} and {other}", table=PICTURES_FILE, line=side[False].row, other=side[True].row)
            wrong = say("The cluster {cluster} of like pictures stands both among those drilled and among those held out.", cluster=cluster)
            yield Fault(where, wrong, say("Put all of a cluster to one use."))
