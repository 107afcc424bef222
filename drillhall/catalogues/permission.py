"""What a row of pictures.csv says of a picture's rights, and what stays as it was where the row says nothing of it."""

from __future__ import annotations

from dataclasses import replace

from drillhall.catalogues.folder import FolderPicture
from drillhall.core.licences import read_licence
from drillhall.core.regions import WHOLE
from drillhall.core.rights import Purpose, Rights

_PERMISSION = ("agreed", "granted_by", "granted_on", "until", "evidence", "data_mining")
WORDS = ("medium", "taken_on", "orientation", "pose", "distance", "setting", "typical", "alt")
"""What a row says of a picture beside its label, its use and its scene."""


def rights_of(picture: FolderPicture) -> Rights:
    """Return the rights that a row of pictures.csv says."""
    return Rights(
        creator=picture.creator,
        licence=read_licence(picture.licence) if picture.licence else None,
        credit=picture.credit,
        rights_owner=picture.rights_owner,
        source=picture.source,
        title=picture.title,
        statement=picture.statement,
        agreed=frozenset(Purpose(word) for word in picture.agreed),
        granted_by=picture.granted_by,
        granted_on=picture.granted_on,
        until=picture.until,
        evidence=picture.evidence,
        data_mining=picture.data_mining,
    )


def says_permission(picture: FolderPicture) -> bool:
    """Whether a row says anything of a permission: who gave it, when, for what, until when, and how one knows."""
    return any(getattr(picture, name) for name in _PERMISSION)


def with_unsaid(said: FolderPicture, known: FolderPicture) -> FolderPicture:
    """Return what a row says, completed by what the hall knows where the row is silent: a frame, and a permission for the same licence.

    The whole picture as its frame means none.
    """
    if said.frame is None:
        said = replace(said, frame=known.frame)
    elif said.frame == WHOLE:
        said = replace(said, frame=None)
    if says_permission(said) or said.licence != known.licence:
        return said
    return replace(said, **{name: getattr(known, name) for name in _PERMISSION})


def with_words_of(said: FolderPicture, known: FolderPicture) -> FolderPicture:
    """Return what a row says with the words that the hall has for the picture already."""
    return replace(said, **{name: getattr(known, name) for name in WORDS})
