"""Slips to sign in with: made a few at a time, shown to be printed and cut, and put away; a new passphrase for one."""

from __future__ import annotations

from typing import Final

from flask import redirect, render_template, url_for
from flask import session as form_session

from drillhall.errors import NotFound
from drillhall.people import limits, roster, roster_slips
from drillhall.people.group import Group
from drillhall.people.permissions import the_led_group
from drillhall.web import forms, session
from drillhall.web.session import now, store, the_person
from drillhall.web.teacher.room import Page, blueprint
from drillhall.words import say

_KEPT_AS: Final = "slips"
"""The key of the slips stays in the giver's own browser, by group; the hall knows no passphrase."""


@blueprint.get("/<group_key>/slips")
def slips(group_key: str) -> Page:
    """Show how far the making of slips is, and the slips once all are made."""
    key = _find_key(group_key)
    with store().look() as db:
        group = the_led_group(db, the_person(), group_key)
        told = roster_slips.list_slips(db, group, key=key) if key else roster_slips.Slips(0, 0, ())
        unused = len(roster.unused_slips(db, group, by=the_person().id))
    address = session.outside_address(url_for("account.sign_in"))
    return render_template("teacher/slips.html", group=group, slips=told, unused=unused, address=address)


@blueprint.post("/<group_key>/slips")
def make_slips(group_key: str) -> Page:
    """Make the next few slips; begun anew, all those that nobody has used, with other passphrases."""
    with store().look() as db:
        group = the_led_group(db, the_person(), group_key)
    if forms.ticked("anew"):
        with store().look() as db:
            unused = roster.unused_slips(db, group, by=the_person().id)
        _give(group_key, group, unused, key=the_key(group_key, anew=True))
    elif key := _find_key(group_key):
        make_some(group, key)
    return redirect(url_for("teacher.slips", group_key=group_key), code=303)


@blueprint.post("/<group_key>/slips/away")
def put_slips_away(group_key: str) -> Page:
    """Forget the key of the slips: from then on nobody can show them again."""
    with store().look() as db:
        group = the_led_group(db, the_person(), group_key)
    form_session.pop(_KEPT_AS, None)
    page = "teacher.roster" if group.kind == "class" else "groups.group"
    return redirect(url_for(page, group_key=group_key), code=303)


@blueprint.post("/<group_key>/members/<int:membership_id>/passphrase")
def give_passphrase(group_key: str, membership_id: int) -> Page:
    """Give somebody who learns in the group a new passphrase, to be handed over on a slip."""
    with store().look() as db:
        group = the_led_group(db, the_person(), group_key)
        account_id = roster.the_one_to_give(db, group, membership_id, by=the_person().id)
    _give(group_key, group, (account_id,), key=the_key(group_key))
    return redirect(url_for("teacher.slips", group_key=group_key), code=303)


def the_key(group_key: str, *, anew: bool = False) -> str:
    """Return the key of a group's slips that this browser keeps, a new one where it has none: `keep_key` keeps it."""
    return (None if anew else _find_key(group_key)) or roster_slips.make_key()


def keep_key(group_key: str, key: str) -> None:
    """Let this browser show the slips of a key, once they are promised, and no others."""
    form_session[_KEPT_AS] = {group_key: key}


def make_some(group: Group, key: str) -> None:
    """Hash the passphrases of the next few slips, which is slow, and keep the hashes."""
    batch = roster_slips.batch_of(key)
    with store().look() as db:
        unmade = roster_slips.next_unmade(db, group, batch=batch)
    hashes = roster_slips.hashed(unmade, key=key)
    with store().work() as db:
        roster_slips.keep_hashes(db, group, hashes, batch=batch)


def _give(group_key: str, group: Group, account_ids: tuple[int, ...], *, key: str) -> None:
    with store().work() as db:
        limits.spend_try(db, limits.GIVE_PASSPHRASE, str(the_person().id), at=now())
    if not account_ids:
        raise NotFound(say("Everybody has signed in with her slip. Give a new passphrase to one by one, where it is needed."))
    batch, closed = roster_slips.batch_of(key), roster_slips.unusable_hash()
    with store().work() as db:
        roster_slips.promise(db, group, account_ids, by=the_person(), batch=batch, closed_hash=closed, at=now())
    keep_key(group_key, key)
    make_some(group, key)


def _find_key(group_key: str) -> str | None:
    kept = form_session.get(_KEPT_AS)
    return str(kept[group_key]) if isinstance(kept, dict) and group_key in kept else None
