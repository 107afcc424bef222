"""Checks a catalogue as it stands in the hall, where its files are not at hand."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from drillhall.catalogues.checking import CheckReport
from drillhall.catalogues.checking.wanted import list_wanted
from drillhall.catalogues.editing.changing import list_faults
from drillhall.catalogues.folder import PICTURES_FOLDER, Fault, Folder, FolderCatalogue


class _Stored:
    """Stands in for a folder's files: the hall has them all, under the names that the catalogue gives them."""

    def __init__(self, said: FolderCatalogue) -> None:
        self._sizes = MappingProxyType({PICTURES_FOLDER + picture.file: 0 for picture in said.pictures})

    @property
    def sizes(self) -> Mapping[str, int]:
        """The files by name."""
        return self._sizes

    @property
    def faults(self) -> tuple[Fault, ...]:
        """Nothing can be wrong with files that the hall took in."""
        return ()

    def read(self, name: str) -> bytes:
        """Refuse: what reads bytes belongs to a folder."""
        raise FileNotFoundError(name)

    def close(self) -> None:
        """Let go of nothing."""


def review(said: FolderCatalogue) -> CheckReport:
    """Return the faults of a catalogue as it stands, and what it still wants, in full sentences."""
    return CheckReport(list_faults(said), list_wanted(Folder(said, _Stored(said))))
