"""Writes a catalogue: from its value into the store, and from the store back into the files of its folder."""

from drillhall.catalogues.writing.files import FolderSink, Sink, ZipSink, open_sink, text_files, write_folder, zip_sink
from drillhall.catalogues.writing.foreseen import Foreseen, foresee
from drillhall.catalogues.writing.joining import learnt_apart
from drillhall.catalogues.writing.pictures import Placed, where_of, write_pictures
from drillhall.catalogues.writing.rows import Written, write_rows
from drillhall.catalogues.writing.stored import (
    StoredPicture,
    find_catalogue_id,
    list_stored_pictures,
    stored_catalogue,
    the_catalogue_id,
)

__all__ = [
    "FolderSink",
    "Foreseen",
    "Placed",
    "Sink",
    "StoredPicture",
    "Written",
    "ZipSink",
    "find_catalogue_id",
    "foresee",
    "learnt_apart",
    "list_stored_pictures",
    "open_sink",
    "stored_catalogue",
    "text_files",
    "the_catalogue_id",
    "where_of",
    "write_folder",
    "write_pictures",
    "write_rows",
    "zip_sink",
]
