"""What a group mixes up; what one of its learners mixes up; and to herself, what is seen of her."""

from __future__ import annotations

from flask import render_template

from drillhall.people.permissions import the_group, the_led_group
from drillhall.practice.reader import names_for
from drillhall.practice.weak_spots.beside import BY, the_beside
from drillhall.practice.weak_spots.pupil import the_pupil_spots
from drillhall.practice.weak_spots.report import the_weak_spots
from drillhall.practice.weak_spots.seeing import the_own, the_pupil, who_sees
from drillhall.web.session import store, the_person
from drillhall.web.weak_spots.asking import asked, asked_by, offered
from drillhall.web.weak_spots.drawing import draw
from drillhall.web.weak_spots.room import blueprint, her_day


@blueprint.get("/<group_key>/weak-spots")
def weak_spots(group_key: str) -> str:
    """Show what a group mixes up, as far as whoever asks may know."""
    chosen = asked()
    with store().look() as db:
        group = the_group(db, the_person(), group_key)
        told = the_weak_spots(db, group.id, group.role, chosen, today=her_day(), reader=names_for(db, the_person().id))
    words = offered(told.choices)
    return render_template("weak_spots/weak_spots.html", group=group, told=told, chosen=chosen, offered=words, drawn=draw(told))


@blueprint.get("/<group_key>/weak-spots/beside")
def beside(group_key: str) -> str:
    """Lay what a group mixes up side by side, as far as whoever asks may know."""
    by = asked_by()
    with store().look() as db:
        group = the_group(db, the_person(), group_key)
        told = the_beside(db, group.id, group.role, by, today=her_day(), reader=names_for(db, the_person().id))
    return render_template("weak_spots/beside.html", group=group, told=told, ways=BY)


@blueprint.get("/<group_key>/weak-spots/learners/<int:membership_id>")
def learner(group_key: str, membership_id: int) -> str:
    """Show what one learner mixes up, to whoever may see her by name."""
    with store().look() as db:
        group = the_led_group(db, the_person(), group_key, archived=True)
        told = the_pupil_spots(
            db, group.id, the_pupil(db, group.id, group.role, membership_id), today=her_day(), reader=names_for(db, the_person().id)
        )
    return render_template("weak_spots/learner.html", group=group, told=told, seen=None)


@blueprint.get("/<group_key>/weak-spots/yours")
def own(group_key: str) -> str:
    """Show a learner what whoever leads the group sees of her: the very page."""
    with store().look() as db:
        group = the_group(db, the_person(), group_key)
        pupil = the_own(db, group.id, the_person().id)
        seen = who_sees(db, group.id, group.kind, pupil)
        told = the_pupil_spots(db, group.id, pupil, today=her_day(), reader=names_for(db, the_person().id))
    return render_template("weak_spots/learner.html", group=group, told=told, seen=seen)
