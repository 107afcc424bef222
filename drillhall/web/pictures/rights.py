"""What others may do with a picture: the fields that ask it, what was typed into them, and the page that changes it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Final

from flask import redirect, render_template, request, url_for

from drillhall.core.licences import ALL_RIGHTS_RESERVED, LICENCES, PUBLIC_DOMAIN_MARK, WITH_PERMISSION, Licence, read_licence
from drillhall.core.rights import DATA_MINING, Purpose, Rights, check_entry
from drillhall.errors import BadRights, Invalid
from drillhall.pictures import rights as stored
from drillhall.pictures import whole
from drillhall.pictures.found import offered_rights
from drillhall.web import forms
from drillhall.web.pictures.room import Page, blueprint, her_day
from drillhall.web.session import now, storage, store, the_person
from drillhall.words import say

IN_THIS_HALL: Final = "in-this-hall"
ONLY_YOU: Final = "only-you"
RESERVED: Final = ALL_RIGHTS_RESERVED.id
PERMITTED: Final = WITH_PERMISSION.id
MARKED: Final = PUBLIC_DOMAIN_MARK.id
BY_ADDRESS: Final = "by-address"

LICENCE_WORDS: Final = (
    ("", say("Only you see it, whole and as it is"), say("no licence, or nobody knows")),
    (ONLY_YOU, say("Only you see it, and it is yours to cut"), say("all rights reserved")),
    (IN_THIS_HALL, say("People of this hall drill it, nothing more"), say("all rights reserved")),
    ("CC-BY-NC-ND-4.0", say("Anybody may use it unchanged, not for money, and names you"), "CC BY-NC-ND 4.0"),
    ("CC-BY-ND-4.0", say("Anybody may use it unchanged, and names you"), "CC BY-ND 4.0"),
    ("CC-BY-NC-SA-4.0", say("Anybody may use and change it, not for money, names you, and passes it on likewise"), "CC BY-NC-SA 4.0"),
    ("CC-BY-NC-4.0", say("Anybody may use and change it, not for money, and names you"), "CC BY-NC 4.0"),
    ("CC-BY-SA-4.0", say("Anybody may use and change it, names you, and passes it on likewise"), "CC BY-SA 4.0"),
    ("CC-BY-4.0", say("Anybody may use and change it, and names you"), "CC BY 4.0"),
    ("CC0-1.0", say("Anybody may do anything with it"), "CC0 1.0"),
)
"""What an owner may choose, the narrowest first, so that nothing is given away unseen."""

OTHER_WORDS: Final = (
    (RESERVED, say("It is yours, and you choose use by use"), say("all rights reserved")),
    (PERMITTED, say("Somebody else made it and lets you use it"), say("used with permission")),
    (MARKED, say("Nobody has rights in it any more"), "Public Domain Mark 1.0"),
    (BY_ADDRESS, say("It has another licence"), say("an older or national Creative Commons licence")),
)
"""What asks for more words, each with fields of its own."""

ASKED_WORDS: Final = (
    (Purpose.GROUP, say("People of this hall may drill it, print it and show it on the wall of their room")),
    (Purpose.PUBLIC, say("Anybody may see it: on public pages, in open questions and in exports")),
    (Purpose.ALTERED, say("It may be shown cut, from as far off, or as a bare shape")),
    (Purpose.PAID, say("It may be used in groups that people pay for")),
)
SCOPES: Final = (
    ("private", say("you alone")),
    ("group", say("people of this hall")),
    ("public", say("anybody: public pages, open questions, exports")),
)
_MOST_LETTERS: Final = {"creator": 200, "credit": 300, "rights_owner": 200, "source": 300, "title": 300, "statement": 2000}


@dataclass(frozen=True, slots=True)
class RightsAsked:
    """What the fields of rights show: the choices, and by the name of each field what stands in it at first."""

    given: Mapping[str, str]
    licences: tuple[tuple[str, str, str], ...] = LICENCE_WORDS
    others: tuple[tuple[str, str, str], ...] = OTHER_WORDS
    asked: tuple[tuple[str, str], ...] = tuple((purpose.name.lower(), words) for purpose, words in ASKED_WORDS)
    scopes: tuple[tuple[str, str], ...] = SCOPES
    data_mining: tuple[tuple[str, str], ...] = tuple(DATA_MINING.items())


@blueprint.get("/my-pictures/<public_id>/rights")
def rights(public_id: str) -> Page:
    """Show what may be done with one's own picture, and ask for other rights."""
    return _page(public_id)


@blueprint.post("/my-pictures/<public_id>/rights")
def change_rights(public_id: str) -> Page:
    """Give one's own picture other rights, once she knows what comes of it."""
    told: tuple[str, ...] = ()
    try:
        typed, person = typed_rights(), the_person()
        with store().work() as db:
            told = stored.what_changes(db, account_id=person.id, public_id=public_id, rights=typed)
            if told and not forms.ticked("understood"):
                raise BadRights(say("Read what comes of it, and tick that you know it. Nothing is changed yet."), field="understood")
            stored.change_own_rights(db, storage(), account_id=person.id, public_id=public_id, rights=typed, at=now())
    except Invalid as error:
        return _page(public_id, error, told), 422
    return redirect(url_for("pictures.rights", public_id=public_id, did="changed"), code=303)


@blueprint.post("/my-pictures/<public_id>/rights/end")
def end_permission(public_id: str) -> Page:
    """End the permission that one's own picture rests on."""
    try:
        with store().work() as db:
            stored.end_permission(db, storage(), account_id=the_person().id, public_id=public_id, at=now())
    except Invalid as error:
        return _page(public_id, error), 422
    return redirect(url_for("pictures.rights", public_id=public_id, did="ended"), code=303)


def _page(public_id: str, wrong: Invalid | None = None, told: tuple[str, ...] = ()) -> str:
    with store().look() as db:
        known = stored.the_own_rights(db, the_person().id, public_id)
        shown = whole.the_own_picture(db, the_person().id, public_id, on=her_day())
    is_offered = known == Rights() and bool(shown.found)  # nothing was said yet: what the file says of itself stands there
    offered = offered_rights(shown.listed.found, maker=the_person().name) if is_offered else known
    return render_template(
        "pictures/rights.html",
        shown=shown,
        rights_fields=rights_asked(offered),
        is_offered=is_offered,
        told=told,
        can_end=known.licence == WITH_PERMISSION and (known.until is None or known.until >= her_day()),
        wrong=wrong,
        did=request.args.get("did", ""),
    )


def rights_asked(rights: Rights | None = None, *, maker: str = "") -> RightsAsked:
    """Return what `pictures/rights_fields.html` needs as `rights_fields`; without rights, `maker` made it and gives nothing."""
    known = rights or Rights(creator=maker, credit=maker)
    given = {field: getattr(known, field) for field in _MOST_LETTERS}
    given |= {"granted_by": known.granted_by, "evidence": known.evidence, "data_mining": known.data_mining}
    given |= {"granted_on": _iso(known.granted_on), "until": _iso(known.until), "licence": _choice(known)}
    given["licence_address"] = known.licence.url if known.licence and given["licence"] == BY_ADDRESS else ""
    given["scope"] = next((purpose.name.lower() for purpose in (Purpose.PUBLIC, Purpose.GROUP) if purpose in known.agreed), "private")
    given |= {f"agreed_{purpose.name.lower()}": "yes" if purpose in known.agreed else "" for purpose, _ in ASKED_WORDS}
    return RightsAsked(given)


def typed_rights() -> Rights:
    """Return what the fields of rights say, or raise BadRights naming the field and how to mend it."""
    chosen = forms.text("licence", most=60)
    said = {field: forms.text(field, most=most).strip() for field, most in _MOST_LETTERS.items()}
    licence = _typed_licence(chosen)
    if chosen == MARKED:  # the reason goes along wherever the picture goes
        said["statement"] = said["statement"] or _typed_for(chosen, "evidence", 2000)
    rights = Rights(
        **said,
        licence=licence,
        agreed=_typed_agreed(chosen),
        until=_typed_day("until", say("Until when")) if chosen == PERMITTED else None,
        granted_by=_typed_for(chosen, "granted_by", 200),
        granted_on=_typed_day("granted_on", say("When it was given")) if chosen == PERMITTED else None,
        evidence=_typed_for(chosen, "evidence", 2000),
        data_mining=forms.text("data_mining", most=60),
    )
    try:
        return check_entry(rights, on=her_day())
    except BadRights as error:
        is_marked = chosen == MARKED and error.field in ("granted_by", "evidence")
        raise BadRights(error.sentence, field=f"marked_{error.field}" if is_marked else error.field) from error


def _choice(rights: Rights) -> str:
    if rights.licence is None:
        return ""
    if rights.licence.id == RESERVED:
        return {frozenset(): ONLY_YOU, frozenset({Purpose.GROUP}): IN_THIS_HALL}.get(rights.agreed, RESERVED)
    offered = {key for key, _, _ in (*LICENCE_WORDS, *OTHER_WORDS)}
    return rights.licence.id if rights.licence.id in offered and not rights.licence.port else BY_ADDRESS


def _typed_licence(chosen: str) -> Licence | None:
    if chosen in (ONLY_YOU, IN_THIS_HALL):
        return ALL_RIGHTS_RESERVED
    if chosen != BY_ADDRESS:
        if chosen not in {key for key, _, _ in (*LICENCE_WORDS, *OTHER_WORDS)}:
            raise BadRights(say("Choose from the list what others may do with it."), field="licence")
        return LICENCES.get(chosen)
    licence = read_licence(forms.text("licence_address", most=300))
    if licence is None or not licence.url:
        sentence = say(
            "The hall does not know that licence, so it cannot tell what it allows. Paste the address of a Creative Commons licence, "
            "such as https://creativecommons.org/licenses/by/3.0/, or choose that only you see the picture."
        )
        raise BadRights(sentence, field="licence_address")
    return licence


def _typed_agreed(chosen: str) -> frozenset[Purpose]:
    if chosen == IN_THIS_HALL:
        return frozenset({Purpose.GROUP})
    if chosen not in (RESERVED, PERMITTED):
        return frozenset()
    prefix = "reserved" if chosen == RESERVED else "permitted"
    agreed = {purpose for purpose, _ in ASKED_WORDS if forms.ticked(f"{prefix}_{purpose.name.lower()}")}
    if chosen == PERMITTED:
        scope = forms.text("scope", most=10) or "private"
        if scope not in dict(SCOPES):
            raise BadRights(say("Choose from the list for whom the permission is."), field="scope")
        agreed |= {"private": set(), "group": {Purpose.GROUP}, "public": {Purpose.GROUP, Purpose.PUBLIC}}[scope]
    return frozenset(agreed)


def _typed_for(chosen: str, field: str, most: int) -> str:
    """Return a field that a permission and a mark both ask for, each under its own name."""
    prefix = {PERMITTED: "", MARKED: "marked_"}.get(chosen)
    return "" if prefix is None else forms.text(prefix + field, most=most).strip()


def _typed_day(field: str, label: str) -> date | None:
    typed = forms.text(field, most=40).strip()
    try:
        return date.fromisoformat(typed) if typed else None
    except ValueError as error:
        raise BadRights(say("{label}: write the day as 2031-05-17.", label=label), field=field) from error


def _iso(day: date | None) -> str:
    return day.isoformat() if day else ""
