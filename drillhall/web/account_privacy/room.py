"""The blueprint of what is kept about somebody, and what its three doors share: the page, the zip, and the erasing."""

from __future__ import annotations

import tempfile
from contextlib import ExitStack
from dataclasses import dataclass
from typing import IO, Final
from zoneinfo import ZoneInfo

from flask import Blueprint, render_template, send_file
from werkzeug.wrappers import Response as BaseResponse

from drillhall.acts.erase_person import erase_person
from drillhall.acts.export_person import TOP, export_person
from drillhall.errors import Invalid, NotFound
from drillhall.people import accounts, audit, kept, limits
from drillhall.pictures import erasing, own_files
from drillhall.web import forms
from drillhall.web.session import now, settings, storage, store, the_person
from drillhall.words import say

blueprint: Final = Blueprint("privacy", __name__)
Page = str | tuple[str, int] | BaseResponse
EXPORTED: Final = "export made"
LEAVE, TAKE = "leave", "take"


@dataclass(frozen=True, slots=True)
class Whom:
    """Whose things a page is about, and where each act on them is: `group_title` where her teacher asks, `is_self` where she does."""

    account_id: int
    name: str
    kept_url: str
    export_url: str
    erase_url: str
    is_self: bool = False
    group_title: str = ""


def kept_page(whom: Whom) -> str:
    """Show what is kept about somebody."""
    with store().look() as db:
        told = kept.what_is_kept(db, whom.account_id)
        size = own_files.count_bytes(db, whom.account_id)
    return render_template("account/kept.html", whom=whom, kept=told, size=size, of_nobody=kept.OF_NOBODY)


def note_export(whom: Whom) -> None:
    """Write down that somebody takes out what is kept about another."""
    with store().work() as db:
        audit.note(db, EXPORTED, at=now(), by=the_person().id, subject=f"account {whom.account_id}")


def noted_zip(whom: Whom) -> Page:
    """Give out everything about another, if that was written down just now."""
    with store().look() as db:
        if not audit.was_noted(db, EXPORTED, by=the_person().id, subject=f"account {whom.account_id}", at=now()):
            raise NotFound(say("This export is over. Ask for it anew on the page that says what is kept."))
    return whole_zip(whom)


def whole_zip(whom: Whom) -> Page:
    """Give out everything about somebody as one zip."""
    return send_file(_packed(whom), mimetype="application/zip", as_attachment=True, download_name=f"{TOP}.zip")


def erase_page(whom: Whom, wrong: Invalid | None = None) -> str:
    """Ask whether somebody is to be erased, and say what goes and what stays."""
    with store().look() as db:
        owned = erasing.count_owned(db, whom.account_id)
    going = [one.name for one in kept.SUBJECTS if one.after == kept.GOES]
    staying = [one for one in kept.SUBJECTS if one.after != kept.GOES]
    return render_template("account/erase.html", whom=whom, going=going, staying=staying, owned=owned, wrong=wrong)


def erase(whom: Whom) -> None:
    """Erase somebody as the form says, or raise Invalid; whoever asks shows her own passphrase first."""
    asks = the_person()
    with store().work() as db:
        limits.spend_try(db, limits.CONFIRM, str(asks.id), at=now())
    with store().look() as db:
        accounts.check_own_passphrase(db, asks, forms.text("passphrase", most=2000))
        owned = erasing.count_owned(db, whom.account_id)
    pictures = forms.text("pictures", most=10)
    if owned.licensed and pictures not in {LEAVE, TAKE}:
        raise Invalid(say("Say what becomes of the pictures that catalogues hold."), field="pictures")
    if not forms.ticked("for_good"):
        raise Invalid(say("Tick that you mean it: nothing brings it back."), field="for_good")
    leaves, uploads = pictures == LEAVE, settings().uploads_folder
    erase_person(store(), storage(), whom.account_id, leave_licensed=leaves, by=asks.id, at=now(), uploads=uploads)


def _packed(whom: Whom) -> IO[bytes]:
    """Return the zip in a file without a name, which goes with its last reader."""
    on = now().astimezone(ZoneInfo(the_person().zone)).date()
    with ExitStack() as stack:
        content = stack.enter_context(tempfile.TemporaryFile())
        with store().look() as db:
            export_person(db, storage(), content, whom.account_id, name=whom.name, on=on, at=now(), progress=lambda *_: None)
        content.seek(0)
        stack.pop_all()
    return content
