"""The blueprint that the pages of those who write catalogues hang in, and the one way in which they keep a change."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any, Final
from zoneinfo import ZoneInfo

from flask import Blueprint, redirect, request, url_for
from werkzeug.wrappers import Response

from drillhall.catalogues.editing.changing import Act, Edit, Opened, Seen, Stale, change, the_opened
from drillhall.catalogues.editing.value_words import HOW_OFTEN
from drillhall.core.term_words import LIFE_STAGES, SEXES
from drillhall.errors import Invalid
from drillhall.web.forms import text
from drillhall.web.session import now, store, the_person

blueprint: Final = Blueprint("catalogue", __name__, url_prefix="/catalogues")
Page = str | tuple[str, int] | Response


@blueprint.context_processor
def _term_words() -> dict[str, object]:
    """Give the pages the words for what a form says of its age and sex, and for how often it shows a state."""
    return {"life_stages": LIFE_STAGES, "sexes": SEXES, "how_often": tuple(HOW_OFTEN.values())}


def look(key: str) -> Opened:
    """Return a catalogue to one of its stewards, to be looked at."""
    with store().look() as db:
        return the_opened(db, key, the_person().id)


def keep(key: str, edit: Edit, act: Act, scope: tuple[str, ...] = ()) -> None:
    """Make one change of a catalogue; with a scope, only where what stands there is what its page was read with."""
    seen = Seen(scope, text("version", most=40)) if scope else None
    with store().work() as db:
        opened = the_opened(db, key, the_person().id, to_write=True)
        change(db, opened, edit, act, by=the_person().id, at=now(), seen=seen)


def kept(do: Callable[[], object], page: Callable[..., str], endpoint: str, **where: Any) -> Page:
    """Do something and go on to a page, which says so; where it is refused, show the form again with what was typed and what to mend."""
    try:
        do()
    except Stale as stale:
        return page(stale=stale), 409
    except Invalid as wrong:
        return page(wrong=wrong), 422
    return redirect(url_for(endpoint, **where, did="saved"), code=303)


def typed() -> dict[str, str]:
    """Return what was typed into every field of the form."""
    return {name: text(name, most=4100) for name in request.form}


def her_day() -> date:
    """Return the day on which whoever asks is."""
    return now().astimezone(ZoneInfo(the_person().zone)).date()
