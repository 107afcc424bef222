"""Joins all checks of a folder to one report."""

from __future__ import annotations

from dataclasses import dataclass

from drillhall.catalogues.checking.lore import faults_of_forms, faults_of_head, faults_of_pairs, faults_of_sets, faults_of_traits
from drillhall.catalogues.checking.names import faults_of_names, list_double_words
from drillhall.catalogues.checking.pictures import faults_of_pictures
from drillhall.catalogues.checking.signs import faults_of_signs
from drillhall.catalogues.checking.tongues import faults_of_tongues
from drillhall.catalogues.checking.wanted import list_wanted
from drillhall.catalogues.folder import Fault, Folder


@dataclass(frozen=True, slots=True)
class CheckReport:
    """What is wrong with a folder, so that it cannot be imported, and what it still lacks to be good, in full sentences."""

    faults: tuple[Fault, ...]
    wanted: tuple[str, ...]

    @property
    def lines(self) -> tuple[str, ...]:
        """Every fault in one line."""
        return tuple(fault.line for fault in self.faults)


def check(folder: Folder) -> CheckReport:
    """Find every fault of a folder and what it still wants.

    Where catalogue.toml could not be read at all, only the faults of reading are told: all else would follow from them.
    """
    faults = list(folder.faults)
    if not folder.is_whole:
        return CheckReport(tuple(faults), ())
    catalogue = folder.catalogue
    faults += faults_of_signs(catalogue)
    faults += faults_of_head(catalogue)
    faults += faults_of_traits(catalogue)
    faults += faults_of_tongues(catalogue)
    faults += faults_of_forms(catalogue)
    faults += faults_of_pairs(catalogue)
    faults += faults_of_names(catalogue)
    faults += faults_of_sets(catalogue)
    faults += faults_of_pictures(folder)
    return CheckReport(tuple(dict.fromkeys(faults)), (*list_wanted(folder), *list_double_words(catalogue)))
