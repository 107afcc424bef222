"""The grid: saying of several of one's own pictures at once what they show."""

from __future__ import annotations

from collections import Counter
from datetime import date
from typing import Any, Final

from flask import redirect, render_template, request, url_for

from drillhall.acts.describe_pictures import describe_pictures
from drillhall.core.rights import Rights
from drillhall.core.term_words import DISTANCES, LIFE_STAGES, POSES, SEEN_FROM, SETTINGS, SEXES, term_of
from drillhall.core.values import Use
from drillhall.errors import BadRights, Invalid
from drillhall.pictures import describing, own, reach
from drillhall.pictures.found import offered_rights
from drillhall.pictures.listing import Show
from drillhall.web import forms
from drillhall.web.pictures.adding import CHOSEN_MEDIA, SORTS, asked_listing
from drillhall.web.pictures.rights import rights_asked, typed_rights
from drillhall.web.pictures.room import Page, blueprint, her_day
from drillhall.web.session import now, storage, store, the_person
from drillhall.words import joined, say

A_GRID: Final = 40
NOTHING: Final = "-"
"""What empties a field; an empty field leaves what is known as it is."""
WORDS: Final = {
    "sex": 40,
    "life_stage": 40,
    "plumage": 80,
    "variant": 80,
    "pose": 40,
    "distance": 10,
    "orientation": 24,
    "setting": 40,
    "medium": 20,
    "cluster": 40,
    "alt": 300,
}


@blueprint.get("/my-pictures/describe")
def describe() -> Page:
    """Show pictures to choose from, and the fields that say something of those chosen."""
    return _page()


@blueprint.post("/my-pictures/describe")
def describe_chosen() -> Page:
    """Say something of the chosen pictures, whole or not at all."""
    told: tuple[str, ...] = ()
    whose: dict[str, Any] = {"account_id": the_person().id, "public_ids": _chosen(), "on": her_day()}
    try:
        said = _typed()
        with store().work() as db:
            told = describing.what_rights_change(db, said=said, **whose)
            _ask_whether_understood(told)
            done = describe_pictures(db, storage(), said=said, at=now(), **whose)
    except Invalid as error:
        return _page(error, told), 422
    where = {name: request.args.get(name) for name in ("show", "form", "page")}
    values: dict[str, Any] = {"described": done.count, "along": done.along or None, **where}
    return redirect(url_for("pictures.describe", **values), code=303)


def _ask_whether_understood(told: tuple[str, ...]) -> None:
    if told and not forms.ticked("understood"):
        raise BadRights(say("Read what comes of these rights, and tick that you know it. Nothing is changed yet."), field="understood")


def _page(wrong: Invalid | None = None, told: tuple[str, ...] = ()) -> str:
    listed = asked_listing(size=A_GRID, otherwise=Show.WAITING)
    if listed.counts[Show.WAITING] == 0 and "show" not in request.args:
        listed = asked_listing(size=A_GRID)
    with store().look() as db:
        known = own.list_known_forms(db, the_person().id)
        idle = reach.list_idle_forms(db, the_person().id)
    offered, from_file, files_differ = _offered([one.found for one in listed.pictures])
    return render_template(
        "pictures/describe.html",
        mine=listed,
        sorts=SORTS,
        idle=idle,
        known=known,
        wears={field: sorted({getattr(one.form, field) for one in known} - {""}) for field in ("plumage", "variant")},
        sexes=list(SEXES.items()),
        life_stages=list(LIFE_STAGES.items()),
        poses=POSES,
        distances=DISTANCES,
        settings_seen=SETTINGS,
        media=list(CHOSEN_MEDIA),
        seen_from=SEEN_FROM,
        rights_fields=rights_asked(offered),
        from_file=from_file,
        files_differ=files_differ,
        chosen=_chosen(),
        filled={name for name, value in request.form.items() if value},
        comes_of_it=told,
        wrong=wrong,
    )


def _offered(found: list[dict[str, str]]) -> tuple[Rights, str, bool]:
    """Return the rights to offer for the pictures of a page, where they come from, and whether the files do not all say the same."""
    name = the_person().name
    offers = Counter(offered_rights(one, maker=name) for one in found)
    if len(offers) > 1:
        makers = Counter(one.get("creator", say("nobody", ctx="as maker")) for one in found)
        said = joined(", ", [say("{maker} ({count})", maker=maker, count=count) for maker, count in makers.most_common()])
        told = say("The files do not all say the same of their rights. They name as maker: {makers}.", makers=said)
        return Rights(creator=name, credit=name), told, True
    says = next((one for one in found if one.keys() & {"creator", "credit", "licence", "rights_owner", "copyright"}), None)
    from_files = say("What stands here is what the files say of themselves.") if says else ""
    return next(iter(offers), Rights(creator=name, credit=name)), from_files, False


def _chosen() -> tuple[str, ...]:
    named = request.form.getlist("picture") if request.method == "POST" else request.args.getlist("picture")
    return tuple(one[:36] for one in named[:500])


def _typed() -> describing.Description:
    words = {field: _word(field, most) for field, most in WORDS.items()}
    _refuse_unticked_rights()
    return describing.Description(
        **words,
        form=_typed_form(),
        typical=_yes_or_no("typical"),
        several=_yes_or_no("several"),
        taken_on=_typed_day(),
        use=_typed_use(),
        rights=typed_rights() if forms.ticked("with_rights") else None,
        as_files_say=the_person().name if forms.ticked("as_files_say") else None,
    )


def _refuse_unticked_rights() -> None:
    """Raise Invalid where rights are chosen and not ticked to be said, or ticked to be said in two ways."""
    is_typed, is_found = forms.ticked("with_rights"), forms.ticked("as_files_say")
    if is_typed and is_found:
        raise Invalid(say("Tick one of the two: these rights for all, or for each what its file says."), field="with_rights")
    if not is_typed and not is_found and forms.text("licence", most=60) != forms.text("offered_licence", most=60):
        raise Invalid(say("You have chosen what others may do. Tick that you say it of those chosen as well."), field="with_rights")


def _word(field: str, most: int) -> str | None:
    typed = forms.text(field, most=most).strip()
    word = term_of(typed, {"pose": POSES, "setting": SETTINGS}.get(field, {}))
    return "" if word == NOTHING else word or None


def _typed_form() -> describing.FormSaid | None:
    first, second = forms.text("form", most=20), forms.text("or_form", most=20)
    if not first and not second:
        return None
    if first == "unsure":
        if second:
            raise Invalid(say("Choose the first of the two forms, or leave the second one empty."), field="form")
        return describing.FormSaid()
    return describing.FormSaid(
        forms.chosen("form", say("What they show")) if first else None, forms.chosen("or_form", say("The second form")) if second else None
    )


def _yes_or_no(field: str) -> bool | None:
    return {"yes": True, "no": False}.get(forms.text(field, most=3))


def _typed_day() -> date | None:
    typed = forms.text("taken_on", most=40).strip()
    try:
        return date.fromisoformat(typed) if typed else None
    except ValueError as error:
        raise Invalid(say("The day it was taken: write it as 2031-05-17."), field="taken_on") from error


def _typed_use() -> Use | None:
    typed = forms.text("use", most=10)
    if typed and typed not in set(Use):
        raise Invalid(say("Choose from the list what the pictures are for."), field="use")
    return Use(typed) if typed else None
