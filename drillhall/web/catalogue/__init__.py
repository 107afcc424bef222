"""A steward's catalogues: brought in and given back as a zip, or written page by page."""

from drillhall.web.catalogue import (
    bringing,
    chances,
    concepts,
    copying,
    forms,
    handing_on,
    keeping,
    overview,
    pairs,
    previewing,
    sets,
    tongues,
    traits,
    walling,
)
from drillhall.web.catalogue.room import blueprint

__all__ = [
    "blueprint",
    "bringing",
    "chances",
    "concepts",
    "copying",
    "forms",
    "handing_on",
    "keeping",
    "overview",
    "pairs",
    "previewing",
    "sets",
    "tongues",
    "traits",
    "walling",
]
