"""Tells every fault of a catalogue's folder at once, and what is wanted still; changes nothing."""

from drillhall.catalogues.checking.checking import CheckReport, check

__all__ = ["CheckReport", "check"]
