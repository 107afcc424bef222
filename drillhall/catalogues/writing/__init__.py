"""Writes a catalogue: from its value into the store, and from the store back into the files of its folder."""

from drillhall.catalogues.writing.files import FolderSink, Sink, ZipSink, text_files, the_new_folder, write_folder
from drillhall.catalogues.writing.pictures import Placed, add_steward, write_pictures
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
    "Placed",
    "Sink",
    "StoredPicture",
    "Written",
    "ZipSink",
    "add_steward",
    "find_catalogue_id",
    "list_stored_pictures",
    "stored_catalogue",
    "text_files",
    "the_catalogue_id",
    "the_new_folder",
    "write_folder",
    "write_pictures",
    "write_rows",
]
