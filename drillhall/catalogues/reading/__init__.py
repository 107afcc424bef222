"""Reads a catalogue's folder, or the same folder zipped, into values; notes what cannot be read and never stops at the first."""

from drillhall.catalogues.reading.reading import read_folder

__all__ = ["read_folder"]
