"""Which pairs of a set its catalogue cannot ask yet, for want of which pictures, and in which stages."""

from __future__ import annotations

from dataclasses import dataclass

from drillhall.catalogues.folder import FolderCatalogue, FolderSet
from drillhall.core.stages import StagePictures
from drillhall.core.values import Use


@dataclass(frozen=True, slots=True)
class Lacking:
    """A pair that some stages of a set cannot ask: for each the title, and the keys of the forms of which it holds no picture.

    `rests`: no stage can ask it.
    """

    forms: tuple[str, str]
    stages: tuple[tuple[str, tuple[str, ...]], ...]
    rests: bool


def lacking_pairs(said: FolderCatalogue, found: FolderSet) -> tuple[Lacking, ...]:
    """Return the pairs of a set that a stage of it cannot ask from the catalogue's practice pictures, those that rest first."""
    shown = []
    for stage in found.stages:
        holds = StagePictures(frozenset(stage.poses), frozenset(stage.distances)).holds
        shown.append({one.form for one in said.pictures if one.use == Use.PRACTICE and holds(one.pose, one.distance)})
    lacking = []
    for pair in dict.fromkeys(pair for stage in found.stages for pair in stage.pairs):
        standing = [(stage.title, forms) for stage, forms in zip(found.stages, shown, strict=True) if pair in stage.pairs]
        reasons = tuple((title, tuple(form for form in pair if form not in forms)) for title, forms in standing)
        short = tuple((title, forms) for title, forms in reasons if forms)
        if short:
            lacking.append(Lacking(pair, short, rests=len(short) == len(reasons)))
    return tuple(sorted(lacking, key=lambda one: not one.rests))
