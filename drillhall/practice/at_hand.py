"""Tells which pictures of some forms there are and whom they reach, where a catalogue has too few to ask with."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date

from sqlalchemy.orm import Session

from drillhall.core.rights import Purpose, may
from drillhall.store.queries.pictures import rights_of
from drillhall.store.queries.showing import near


@dataclass(frozen=True, slots=True)
class AtHand:
    """The practice pictures of one form: how many the catalogue holds and how many of those anybody may be shown.

    Beside these, how many are shared with groups of whoever looks, and how many more are her own; `why_not_public` are the
    reasons, each once, why pictures of the catalogue may not be shown to everybody.
    """

    form_id: int
    held: int = 0
    public: int = 0
    shared: int = 0
    own: int = 0
    why_not_public: tuple[str, ...] = ()

    @property
    def is_none(self) -> bool:
        """Whether whoever looks knows of no picture at all."""
        return not (self.held or self.shared or self.own)


def pictures_at_hand(db: Session, catalogue_id: int, form_ids: Collection[int], *, viewer_id: int, on: date) -> dict[int, AtHand]:
    """Return what there is of each of some forms, by form, as somebody who writes a catalogue or leads a group may know it."""
    found = {form_id: AtHand(form_id) for form_id in form_ids}
    for picture, row, is_held, is_shared in near(db, catalogue_id, form_ids, viewer_id):
        known = found[picture.form_id or 0]
        verdict = may(rights_of(row), owner_id=picture.owner_id, viewer_id=None, purpose=Purpose.OPEN_QUESTION, on=on)
        why = () if verdict.allowed or not is_held else (verdict.reason,)
        found[known.form_id] = AtHand(
            known.form_id,
            held=known.held + is_held,
            public=known.public + (is_held and verdict.allowed),
            shared=known.shared + (is_shared and not is_held),
            own=known.own + (not is_shared and not is_held),
            why_not_public=tuple(dict.fromkeys(known.why_not_public + why)),
        )
    return found
