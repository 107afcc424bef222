"""The page of the hall's own parts: every macro that pages share, in every state."""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import groupby
from typing import Any, Final

from flask import Blueprint, current_app, render_template
from markupsafe import Markup

from drillhall.practice.packets import PictureView
from drillhall.practice.sampling import find_sample
from drillhall.web.session import now, store, the_person
from drillhall.web.specimens import pictures, words
from drillhall.web.specimens.specimen import Specimen
from drillhall.words import say

blueprint: Final = Blueprint("specimens", __name__)

_NAMED: Final = re.compile(r'\b(id|for|aria-labelledby|aria-describedby|list)="([^"]+)"')
_LANDMARK: Final = re.compile(r'(<nav [^>]*aria-label="|role="region" aria-label=")([^"]+)"')


@blueprint.get("/parts")
def parts() -> str:
    """Show every part in every state, with a picture of the hall where there is one."""
    person = the_person()
    with store().look() as db:
        sample = find_sample(db, person.id, on=now().date())
    shown = [(one, _shown(one, number)) for number, one in enumerate(list_specimens(sample))]
    places = {file: place for place, file in enumerate(dict.fromkeys(one.file for one, _ in shown))}
    shown.sort(key=lambda pair: places[pair[0].file])
    files = [(file, list(ones)) for file, ones in groupby(shown, key=lambda pair: pair[0].file)]
    return render_template("specimens/parts.html", files=files, sample=sample)


def list_specimens(sample: PictureView | None) -> tuple[Specimen, ...]:
    """Return all specimens, those with pictures only where there is one to show."""
    plain = (*words.FIELDS, *words.NOTICES, *words.PAGES, *words.PAIRS, *words.INTERVALS, *words.TOLD)
    if sample is None:
        return plain
    return (*plain, *pictures.of_pictures(sample), *pictures.of_meeting(sample), *pictures.of_panel(sample))


def _shown(one: Specimen, number: int) -> Markup:
    """Return what a macro writes, with names of its own, since no two things on a page may bear one name."""
    context: dict[str, Any] = {}
    current_app.update_template_context(context)
    macro = getattr(current_app.jinja_env.get_template(one.file).make_module(context), one.macro)
    named = {name.removesuffix("_"): value for name, value in one.named.items()}
    caller = {"caller": lambda: Markup(one.body)} if one.body else {}  # noqa: S704 - words of ours alone
    written = str(macro(*one.args, **named, **caller))
    if one.within == "text":
        return Markup.escape(written)
    apart = _NAMED.sub(lambda found: f'{found[1]}="{" ".join(_apart(found[2], number))}"', written)
    label = say("specimen {number}", number=number).__html__()
    return Markup(_LANDMARK.sub(lambda found: f'{found[1]}{found[2]}, {label}"', apart))  # noqa: S704 - what a template of ours has escaped


def _apart(names: str, number: int) -> Iterator[str]:
    return (f"{name}-{number}" for name in names.split())
