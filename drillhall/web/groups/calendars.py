"""The calendar of a group to subscribe to: one's own secret link, renewing and ending it, and what it leads to."""

from __future__ import annotations

from typing import Final

from flask import make_response, redirect, render_template, request, url_for
from flask import session as form_session

from drillhall.acts.group_calendar import group_calendar
from drillhall.people import calendar_links
from drillhall.people.permissions import the_group
from drillhall.post.calendars import MEDIA_TYPE
from drillhall.web.groups.room import Page, blueprint
from drillhall.web.session import now, outside_address, store, the_person

LINK: Final = "calendar link"
FRESH_SECONDS: Final = 3600


@blueprint.route("/<group_key>/calendar", methods=["GET", "POST"])
def calendar(group_key: str) -> Page:
    """Tell about one's link to a group's calendar, and make a new one; it is shown once, on the page after."""
    if request.method == "GET":
        return _page(group_key)
    with store().work() as db:
        group = the_group(db, the_person(), group_key)
        token = calendar_links.renew_link(db, group, the_person(), at=now())
    # The link is stored nowhere, so it travels to the next page in her own browser.
    form_session[f"{LINK} {group.public_id}"] = token
    return redirect(url_for("groups.calendar", group_key=group_key), code=303)


@blueprint.post("/<group_key>/calendar/end")
def end_calendar(group_key: str) -> Page:
    """End one's link to a group's calendar."""
    with store().work() as db:
        calendar_links.end_link(db, the_group(db, the_person(), group_key), the_person(), at=now())
    return redirect(url_for("groups.calendar", group_key=group_key), code=303)


@blueprint.get("/calendar/<token>.ics")
def calendar_feed(token: str) -> Page:
    """Send the calendar that a link leads to; a calendar program does not sign in, so the link is the proof."""
    with store().look() as db:
        written = group_calendar(db, token, public_url=outside_address(""), at=now())
    response = make_response(written)
    response.headers.update({"Content-Type": MEDIA_TYPE, "Cache-Control": f"private, max-age={FRESH_SECONDS}"})
    response.headers["Content-Disposition"] = "inline; filename=season.ics"
    return response


def _page(group_key: str) -> str:
    with store().look() as db:
        group = the_group(db, the_person(), group_key)
        made_at = calendar_links.find_made_at(db, group, the_person())
    token = form_session.pop(f"{LINK} {group.public_id}", None)
    link = outside_address(url_for("groups.calendar_feed", token=token)) if token else ""
    return render_template("groups/calendar.html", group=group, made_at=made_at, link=link)
