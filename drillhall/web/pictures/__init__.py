"""The rooms of pictures: their bytes, and everybody's own."""

from drillhall.web.pictures import (
    adding,
    crediting,
    describing,
    framing,
    labels,
    marking,
    offering,
    picture,
    receiving,
    renditions,
    rights,
    sending,
    sharing,
)
from drillhall.web.pictures.room import blueprint

__all__ = [
    "adding",
    "blueprint",
    "crediting",
    "describing",
    "framing",
    "labels",
    "marking",
    "offering",
    "picture",
    "receiving",
    "renditions",
    "rights",
    "sending",
    "sharing",
]
