"""Says of several of somebody's own pictures at once what they show: whole or not at all, and never one scene for two uses."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Final

from sqlalchemy.orm import Session

from drillhall.core.clusters import InCluster, cluster_of
from drillhall.core.labels import Label
from drillhall.core.rights import Rights, check_entry
from drillhall.core.term_words import SEEN_FROM, USES
from drillhall.core.terms import DISTANCES, LIFE_STAGES, MEDIA, SEXES
from drillhall.core.values import Use
from drillhall.errors import Conflict, Invalid
from drillhall.pictures.found import offered_rights, refuse_generated
from drillhall.pictures.ingest import check_words
from drillhall.pictures.own import WhatItShows, check_alt, list_known_forms, plain_alt
from drillhall.pictures.rights import change_own_rights, what_changes
from drillhall.pictures.storage import Storage
from drillhall.store.models.concepts import FormRow
from drillhall.store.models.pictures import PictureRow
from drillhall.store.queries import own_pictures, pictures
from drillhall.words import say, speaking

Relabel = Callable[[int, Label], object]
"""Takes a picture's id and what it is said to show."""

MOST_AT_ONCE: Final = 200
FIRST_PHOTOGRAPH: Final = 1826
"""The year of the first photograph that is left. Source: from memory."""
_BEYOND_FORM: Final = {"sex": say("sex"), "life_stage": say("life stage"), "plumage": say("plumage"), "variant": say("variant")}


@dataclass(frozen=True, slots=True)
class FormSaid:
    """Which form pictures show: one, one of two that cannot be told apart on them, or (neither set) not sure which."""

    form_id: int | None = None
    or_form_id: int | None = None


@dataclass(frozen=True, slots=True)
class Description:
    """What is said of pictures; None leaves what is known of each as it is, an empty word takes it away.

    `as_files_say`: each gets the rights that its own file says, which its owner has looked at; the word is who made those whose
    files name nobody.
    """

    form: FormSaid | None = None
    sex: str | None = None
    life_stage: str | None = None
    plumage: str | None = None
    variant: str | None = None
    pose: str | None = None
    distance: str | None = None
    orientation: str | None = None
    setting: str | None = None
    medium: str | None = None
    cluster: str | None = None
    alt: str | None = None
    typical: bool | None = None
    several: bool | None = None
    taken_on: date | None = None
    use: Use | None = None
    rights: Rights | None = None
    as_files_say: str | None = None

    @property
    def is_empty(self) -> bool:
        """Whether nothing is said at all."""
        return self == Description()


@dataclass(frozen=True, slots=True)
class Described:
    """How many pictures were described, and how many others of the same series went along to the same use."""

    count: int
    along: int


def describe(
    db: Session,
    storage: Storage,
    relabel: Relabel,
    *,
    account_id: int,
    public_ids: Collection[str],
    said: Description,
    at: datetime,
    on: date,
) -> Described:
    """Say something of some of somebody's own pictures; raises Invalid naming the field, and then nothing is said of any.

    `relabel` writes what a picture shows: answers hang on it, so that is an act.
    """
    rows = _the_rows(db, account_id, public_ids)
    if said.is_empty:
        raise Invalid(say("Say something of the pictures: all fields are left as they are."), field="form")
    check_listed(said, on=on)
    if said.form is not None:
        _refuse_held(own_pictures.settled_by_others(db, account_id, [row.id for row in rows]))
        _say_form(db, account_id, rows, said.form, relabel, at=at)
    for row in rows:
        _say(row, said)
    check_words(*rows)
    _check_against_form(db, rows)
    for row in sorted(rows, key=lambda row: row.id):  # pictures are held in one order, as by an import, so that nobody waits in a ring
        rights = _rights_for(row, said, on=on)
        if rights is not None:
            change_own_rights(db, storage, account_id=account_id, public_id=row.public_id, rights=rights, at=at)
    db.flush()
    return Described(len(rows), _keep_together(db, account_id, rows, said.use))


def what_rights_change(db: Session, *, account_id: int, public_ids: Collection[str], said: Description, on: date) -> tuple[str, ...]:
    """Return what the rights that are said would bring about on any of the pictures, in sentences, before anything is changed."""
    if said.rights is None and said.as_files_say is None:
        return ()
    told: dict[str, None] = {}
    for row in _the_rows(db, account_id, public_ids):
        rights = _rights_for(row, said, on=on)
        if rights is not None:
            told |= dict.fromkeys(what_changes(db, account_id=account_id, public_id=row.public_id, rights=rights))
    return tuple(told)


def _the_rows(db: Session, account_id: int, public_ids: Collection[str]) -> list[PictureRow]:
    wanted = set(public_ids)
    if not wanted:
        raise Invalid(say("Choose at least one picture."), field="picture")
    if len(wanted) > MOST_AT_ONCE:
        raise Invalid(say("Choose at most {most_at_once} pictures at a time.", most_at_once=MOST_AT_ONCE), field="picture")
    rows = [row for row, _ in own_pictures.list_mine(db, account_id, own_pictures.named(wanted)) if row.retired_at is None]
    if len(rows) < len(wanted):
        raise Conflict(say("One of the pictures is not among yours any more. Nothing was changed; open the page again."))
    return rows


def check_listed(said: Description, *, on: date) -> None:
    """Raise Invalid, naming the field, where something said is none of the words to choose from, or a day to come."""
    listed = {
        "sex": (said.sex, SEXES, say("Choose from the list which sex it is.")),
        "life_stage": (said.life_stage, LIFE_STAGES, say("Choose from the list which life stage it is in.")),
        "orientation": (said.orientation, tuple(SEEN_FROM), say("Choose from the list from where it is seen.")),
        "distance": (said.distance, DISTANCES, say("Choose from the list from how far off it is seen.")),
    }
    for field, (word, words, asked) in listed.items():
        if word and word not in words:
            raise Invalid(asked, field=field)
    if said.medium is not None and said.medium not in MEDIA:
        raise Invalid(say("Choose from the list whether it is a photograph or a drawing."), field="medium")
    if said.taken_on is not None and said.taken_on > on:
        raise Invalid(say("The day it was taken lies ahead. Write the day as it was."), field="taken_on")
    if said.taken_on is not None and said.taken_on.year < FIRST_PHOTOGRAPH and said.medium in (None, "Photograph"):
        raise Invalid(say("The day it was taken lies before there was photography. Write the day as it was."), field="taken_on")


def _say_form(db: Session, account_id: int, rows: Sequence[PictureRow], said: FormSaid, relabel: Relabel, *, at: datetime) -> None:
    known = {one.form.id for one in list_known_forms(db, account_id)}
    for field, form_id in (("form", said.form_id), ("or_form", said.or_form_id)):
        if form_id is not None and form_id not in known:
            raise Invalid(say("Choose what the picture shows from the list."), field=field)
    if said.or_form_id is not None and said.form_id is None:
        raise Invalid(say("Choose the first of the two forms as well."), field="form")
    if said.or_form_id is not None and said.or_form_id == said.form_id:
        raise Invalid(say("Choose two different forms, or leave the second one empty."), field="or_form")
    one_form = said.form_id if said.or_form_id is None else None
    either = (said.form_id, said.or_form_id) if said.form_id is not None and said.or_form_id is not None else None
    for row in rows:
        relabel(row.id, Label(one_form, either))
        row.described_at = at


def _say(row: PictureRow, said: Description) -> None:
    was_plain = row.alt in ("", _plain_alt(row))
    for field in ("sex", "life_stage", "plumage", "variant", "pose", "distance", "orientation", "setting", "cluster"):
        word = getattr(said, field)
        if word is not None:
            setattr(row, field, word.strip())
    for field in ("medium", "typical", "several", "taken_on"):
        value = getattr(said, field)
        if value is not None:
            setattr(row, field, value)
    if said.alt is not None:
        row.alt = said.alt.strip()
    if said.alt == "" or (was_plain and not said.alt):
        row.alt = _plain_alt(row)
    refuse_generated(row.found, medium=row.medium)


def _rights_for(row: PictureRow, said: Description, *, on: date) -> Rights | None:
    """Return the rights that a picture is to get, or None where it keeps its own."""
    if said.as_files_say is None:
        return said.rights
    return check_entry(offered_rights(row.found, maker=said.as_files_say), on=on)


def _plain_alt(row: PictureRow) -> str:
    return plain_alt(WhatItShows(None, medium=row.medium, orientation=row.orientation if row.orientation in SEEN_FROM else ""))


def _check_against_form(db: Session, rows: Iterable[PictureRow]) -> None:
    forms = pictures.forms_by_id(db, [row.form_id for row in rows if row.form_id is not None], speaking())
    names = pictures.names_by_form(db, list(forms))
    for row in rows:
        if row.form_id is None:
            continue
        form, name = forms[row.form_id]
        check_beyond_form(row, form, name)
        check_alt(row.alt, name, *sorted(names.get(row.form_id, ())))


def check_beyond_form(row: PictureRow, form: FormRow, name: str) -> None:
    """Raise Invalid, naming the field, where what is seen beyond the form contradicts it, for that would be another form."""
    for field, called in _BEYOND_FORM.items():
        of_form, seen = getattr(form, field), getattr(row, field)
        if of_form and seen and of_form.casefold() != seen.casefold():
            raise Invalid(
                say(
                    "The form chosen is {name}, {called} “{of_form}”, and the {called} says “{seen}”. Choose the form "
                    "that fits, or leave the {called} to it.",
                    name=name,
                    called=called,
                    of_form=of_form,
                    seen=seen,
                ),
                field=field,
            )


def _keep_together(db: Session, account_id: int, rows: Sequence[PictureRow], use: Use | None) -> int:
    """Let all pictures of one series have one use, and return how many changed it that were not chosen.

    Where no use is said, a chosen picture takes the use that the rest of its series has.
    """
    mine = {row.id: row for row, _ in own_pictures.list_mine(db, account_id, own_pictures.IN_USE)}
    known = [InCluster(row.id, row.cluster, row.fingerprint, row.taken_on) for row in mine.values()]
    chosen = {row.id for row in rows}
    settled = own_pictures.settled_by_others(db, account_id, mine)
    if use is not None:
        together = cluster_of(chosen, known)
        _refuse_settled([mine[id_] for id_ in together & settled], use)
        along = [mine[id_] for id_ in together - chosen if mine[id_].use != use.value]
        for id_ in together:
            mine[id_].use = use.value
        return len(along)
    changed = 0
    for row in (row for row in rows if row.id not in settled):
        uses = {mine[id_].use for id_ in cluster_of([row.id], known) - (chosen - settled)}
        if len(uses) == 1 and row.use not in uses:
            row.use, changed = uses.pop(), changed + 1
    return changed


def _refuse_held(held: Collection[int]) -> None:
    if held:
        raise Invalid(
            say(
                "A catalogue holds one of these pictures, and its stewards answer for what it shows. Take the "
                "picture back from the catalogue first, or tell its stewards what is wrong."
            ),
            field="form",
        )


def _refuse_settled(held: Iterable[PictureRow], use: Use) -> None:
    """Raise Invalid where a catalogue holds one of a series for another use: its stewards have settled that."""
    for row in held:
        if row.use != use.value:
            raise Invalid(
                say(
                    "A catalogue holds one of these pictures, or one of the same series, and its stewards use it as "
                    "“{use}”. Leave the use as it is, or take the picture back from the catalogue first.",
                    use=USES[row.use],
                ),
                field="use",
            )
