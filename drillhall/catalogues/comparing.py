"""Shows what an import would add, change, retire and leave, before it does."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from sqlalchemy.orm import Session

from drillhall.catalogues.folder import Folder, FolderCatalogue, FolderPicture
from drillhall.catalogues.names import Names
from drillhall.catalogues.permission import with_unsaid, with_words_of
from drillhall.catalogues.writing.stored import StoredPicture, find_catalogue_id, list_stored_pictures, stored_catalogue
from drillhall.words import Said, joined, say

IsKept = Callable[[StoredPicture, bytes], bool]
"""Whether bytes are one of the files that the hall keeps of a picture, so that they are no new picture."""

SHOWN = 8
"""How many names stand in a line before it says how many more there are."""


@dataclass(frozen=True, slots=True)
class PartChanges:
    """What changes in one part of a catalogue: keys added, changed, retired; how many are left as they are.

    `names` is what readers call those that are not left, by key; what is not there is told by its key.
    """

    part: Said
    added: tuple[str, ...] = ()
    changed: tuple[str, ...] = ()
    retired: tuple[str, ...] = ()
    left: int = 0
    names: Mapping[str, str] = field(default_factory=dict)

    @property
    def is_nothing(self) -> bool:
        """Whether all is left as it is."""
        return not (self.added or self.changed or self.retired)

    def told(self, keys: Iterable[str]) -> Said:
        """Return some of its things by their names, as a page tells them."""
        return joined(", ", [self.names.get(key, key) for key in keys])

    @property
    def line(self) -> str:
        """The changes in one line, as the terminal tells them."""
        said = [f"{len(names)} {word} ({_several(names)})" for word, names in self._lists() if names]
        return f"{self.part}: {', '.join([*said, f'{self.left} left as they are'])}"

    def _lists(self) -> tuple[tuple[str, tuple[str, ...]], ...]:
        return (("to add", self.added), ("to change", self.changed), ("to retire", self.retired))


@dataclass(frozen=True, slots=True)
class Changes:
    """What an import of a folder would do to the store, part by part."""

    key: str
    is_new: bool
    parts: tuple[PartChanges, ...]

    @property
    def is_nothing(self) -> bool:
        """Whether the store says all that already."""
        return not self.is_new and all(part.is_nothing for part in self.parts)

    @property
    def lines(self) -> tuple[str, ...]:
        """The changes, a line a part."""
        return tuple(part.line for part in self.parts)


def compare(db: Session, folder: Folder, *, is_kept: IsKept, settled: Collection[str] = ()) -> Changes:
    """Compare a folder with the catalogue of its key in the store; reads only.

    `settled` are the files of pictures that a catalogue of other stewards holds too: their words stay as they are.
    """
    catalogue_id = find_catalogue_id(db, folder.catalogue.key)
    if catalogue_id is None:
        nothing = FolderCatalogue(folder.catalogue.key, "", "", "")
        return Changes(folder.catalogue.key, True, _parts(nothing, folder.catalogue, fresh=frozenset()))
    stored = stored_catalogue(db, catalogue_id)
    said = replace(folder.catalogue, pictures=_completed(folder.catalogue, stored, settled))
    return Changes(folder.catalogue.key, False, _parts(stored, said, fresh=_fresh_files(db, folder, catalogue_id, is_kept)))


def _completed(said: FolderCatalogue, stored: FolderCatalogue, settled: Collection[str]) -> tuple[FolderPicture, ...]:
    """Return the pictures of a folder as they would stand in the store: with what an import leaves as it is."""
    known = {picture.file: picture for picture in stored.pictures}
    rows = (with_unsaid(one, known[one.file]) if one.file in known else one for one in said.pictures)
    return tuple(with_words_of(one, known[one.file]) if one.file in settled and one.file in known else one for one in rows)


def _fresh_files(db: Session, folder: Folder, catalogue_id: int, is_kept: IsKept) -> frozenset[str]:
    """Return the names of files whose bytes are not those that the store holds under that name, in whatever size."""
    stored = {held.file: held for held in list_stored_pictures(db, catalogue_id)}
    known = [(one, stored[one.file]) for one in folder.catalogue.pictures if one.file in stored and folder.has_file(one)]
    other = [(one, held) for one, held in known if folder.digest(one) != held.content_sha256]
    return frozenset(one.file for one, held in other if not is_kept(held, folder.picture_bytes(one)))


def _parts(old: FolderCatalogue, new: FolderCatalogue, *, fresh: frozenset[str]) -> tuple[PartChanges, ...]:
    names = Names(new, old)
    return (
        _part(say("catalogue"), {old.key: _head(old, new)} if old.title else {}, {new.key: _head(new, old)}, lambda _: new.title),
        _part(say("traits"), _by_key(old.traits), _by_key(new.traits), names.trait),
        _part(say("forms", ctx="of a catalogue"), _by_key(old.forms), _by_key(new.forms), names.form),
        _part(say("pairs"), _by_key(old.pairs), _by_key(new.pairs), names.pair_of_key),
        _part(say("pair sets"), _by_key(old.sets), _by_key(new.sets), names.pair_set),
        _part(
            say("pictures"),
            {picture.file: picture for picture in old.pictures},
            {picture.file: picture for picture in new.pictures},
            str,
            fresh=fresh,
        ),
    )


def _head(catalogue: FolderCatalogue, other: FolderCatalogue) -> tuple[Any, ...]:
    """Return what a catalogue says of itself, and the order of what both of two hold."""
    bare = replace(catalogue, traits=(), forms=(), pairs=(), sets=(), pictures=())
    return bare, [[name for name in names if name in shared] for names, shared in zip(_names(catalogue), _names(other), strict=True)]


def _names(catalogue: FolderCatalogue) -> list[list[str]]:
    parts = (catalogue.traits, catalogue.forms, catalogue.pairs, catalogue.sets)
    return [*([item.key for item in part] for part in parts), [picture.file for picture in catalogue.pictures]]


def _part(
    name: Said,
    old: Mapping[str, Any],
    new: Mapping[str, Any],
    told: Callable[[str], str],
    *,
    fresh: frozenset[str] = frozenset(),
) -> PartChanges:
    both = [key for key in new if key in old]
    added = tuple(key for key in new if key not in old)
    changed = tuple(key for key in both if old[key] != new[key] or key in fresh)
    retired = tuple(key for key in old if key not in new)
    names = {key: told(key) for key in (*added, *changed, *retired)}
    return PartChanges(part=name, added=added, changed=changed, retired=retired, left=len(both) - len(changed), names=names)


def _by_key(items: Iterable[Any]) -> dict[str, Any]:
    return {item.key: item for item in items}


def _several(names: tuple[str, ...]) -> str:
    shown = ", ".join(name.replace(":", " and ") for name in names[:SHOWN])
    return f"{shown} and {len(names) - SHOWN} more" if len(names) > SHOWN else shown
