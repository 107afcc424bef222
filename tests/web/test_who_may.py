"""Every route for every kind of visitor, against a table written here by hand; and reading a page changes nothing."""

from __future__ import annotations

from pathlib import Path

import pytest

from drillhall.store.session import Store
from drillhall.web.who_may import ACTION_OF
from tests import cast
from tests.visits import Hall, Visitor, open_hall
from tests.web.planned import learnt_elsewhere
from tests.web.things import things_of as _things
from tests.web.walking import all_rows, methods_of, path_of, rules_of

KINDS = ("visitor", "learner", "stranger", "steward", "keeper")
ANYBODY = frozenset(KINDS)
SIGNED_IN = ANYBODY - {"visitor"}

# The rows of the guarantees' table that exist by now. A new route fails below until it has a row here too.
WHO_MAY: dict[str, frozenset[str]] = {
    # the door
    "static": ANYBODY,
    "offline.worker": ANYBODY,
    "offline.manifest": ANYBODY,
    "offline.icon": ANYBODY,
    "offline.offline": ANYBODY,
    "account.csrf": ANYBODY,
    "account.sign_in": ANYBODY,
    "account.sign_out": ANYBODY,
    "account.first_run": ANYBODY,
    "account.join": ANYBODY,
    # for programs that watch the hall; who may read the metrics of a hall that others reach: test_health.py
    **dict.fromkeys(("health.alive", "health.ready", "health.metrics"), ANYBODY),
    "account.sign_up": ANYBODY,
    "account.step_in": ANYBODY,
    # what helps whoever is lost
    **dict.fromkeys(("help.how_the_drill_decides", "help.parts_of_a_bird"), ANYBODY),
    # one's own account
    "account.settings": SIGNED_IN,
    "account.passphrase": SIGNED_IN,
    "account.devices": SIGNED_IN,
    "account.end_device": SIGNED_IN,
    "account.sign_out_everywhere": SIGNED_IN,
    "second_step.code": ANYBODY,
    **dict.fromkeys(("second_step.state", "second_step.begin", "second_step.set_up", "second_step.turn_off"), SIGNED_IN),
    **dict.fromkeys(("second_step.spare_codes", "second_step.renew_spare"), SIGNED_IN),
    **dict.fromkeys(("second_step.by_passkey", "second_step.ask"), ANYBODY),
    **dict.fromkeys(("second_step.mine", "second_step.begin_passkey", "second_step.make_passkey"), SIGNED_IN),
    **dict.fromkeys(("second_step.ask_to_make", "second_step.take_off"), SIGNED_IN),
    **dict.fromkeys(("privacy.kept", "privacy.everything", "privacy.erase"), SIGNED_IN),
    "privacy.gone": ANYBODY,
    # own drill, standing, pictures
    "learner.today": SIGNED_IN,
    "learner.put_away": SIGNED_IN,
    "learner.bring_back": SIGNED_IN,
    "learner.put_join_away": SIGNED_IN,
    "learner.plan": SIGNED_IN,
    "learner.packet": SIGNED_IN,
    "learner.drill": SIGNED_IN,
    "learner.answer": SIGNED_IN,
    "learner.drill_end": SIGNED_IN,
    "learner.standing": SIGNED_IN,
    "learner.meet": SIGNED_IN,
    "learner.shelf": SIGNED_IN,
    "learner.take": SIGNED_IN,
    "learner.put_back": SIGNED_IN,
    "learner.look_ahead": SIGNED_IN,
    "learner.numbers": SIGNED_IN,
    "learner.seek_numbers": SIGNED_IN,
    "learner.take_numbers": SIGNED_IN,
    "learner.usual_numbers": SIGNED_IN,
    "learner.try_pair": SIGNED_IN,
    "learner.trial": SIGNED_IN,
    "learner.answer_trial": SIGNED_IN,
    "learner.scarce_forms": SIGNED_IN,
    **dict.fromkeys(("learner.choose_rarity", "learner.start_rarity", "learner.rarity_drill", "learner.answer_rarity"), SIGNED_IN),
    **dict.fromkeys(("learner.words", "learner.start_words", "learner.word_drill", "learner.answer_words"), SIGNED_IN),
    "learner.work_out": SIGNED_IN,
    "learner.work_out_set": SIGNED_IN,
    "pictures.the_picture": SIGNED_IN,  # which one, its rights decide: tests of pictures
    **dict.fromkeys(("pictures.my_pictures", "pictures.add", "pictures.retire", "pictures.send"), SIGNED_IN),
    **dict.fromkeys(("pictures.known", "pictures.describe", "pictures.describe_chosen", "pictures.picture"), SIGNED_IN),
    **dict.fromkeys(("pictures.original", "pictures.bring_back", "pictures.delete_files", "pictures.delete_originals"), SIGNED_IN),
    "pictures.credits": SIGNED_IN,
    "pictures.rights": SIGNED_IN,
    "pictures.change_rights": SIGNED_IN,
    "pictures.end_permission": SIGNED_IN,
    "pictures.sharing": SIGNED_IN,
    "pictures.share_one": SIGNED_IN,
    "pictures.end_share": SIGNED_IN,
    "pictures.end_shares": SIGNED_IN,
    "pictures.share": SIGNED_IN,
    **dict.fromkeys(("pictures.offer", "pictures.offer_many"), SIGNED_IN),
    "pictures.take_back": SIGNED_IN,
    "pictures.label": SIGNED_IN,
    "pictures.undo_label": SIGNED_IN,
    **dict.fromkeys(("pictures.framing", "pictures.set_frame"), SIGNED_IN),
    **dict.fromkeys(("pictures.marking", "pictures.set_mark", "pictures.remove_mark"), SIGNED_IN),
    **dict.fromkeys(("pictures.regions", "pictures.annotations"), SIGNED_IN),
    **dict.fromkeys(("pictures.renditions", "pictures.keep_rendition", "pictures.preview", "pictures.preview_shape"), SIGNED_IN),
    # groups: anybody may make one; the learner is in the steward's, and she leads it
    "groups.all_groups": SIGNED_IN,
    "groups.make": SIGNED_IN,
    "groups.enter": SIGNED_IN,
    "groups.by_code": ANYBODY,
    "groups.group": frozenset({"learner", "steward"}),
    "groups.leave": frozenset({"learner", "steward"}),
    "groups.let_see": frozenset({"learner", "steward"}),
    **dict.fromkeys(("groups.assign", "groups.assignment", "groups.end_assignment"), frozenset({"steward"})),
    **dict.fromkeys(("groups.outing_list", "groups.outing", "groups.call_off", "groups.eve_sheet"), frozenset({"steward"})),
    **dict.fromkeys(("groups.reports", "groups.report", "groups.report_file"), frozenset({"steward"})),
    **dict.fromkeys(("groups.season", "groups.season_sheet", "groups.calendar", "groups.end_calendar"), frozenset({"learner", "steward"})),
    **dict.fromkeys(("groups.season_entry", "groups.end_season_entry", "groups.repeat_season"), frozenset({"steward"})),
    "groups.calendar_feed": ANYBODY,  # a calendar program does not sign in: the link is the proof
    "groups.invite": frozenset({"steward"}),
    **dict.fromkeys(("groups.walls", "groups.wall"), frozenset({"steward"})),
    "groups.end_invitation": frozenset({"steward"}),
    "groups.end_membership": frozenset({"steward"}),
    "groups.make_head": frozenset({"steward"}),
    "groups.step_down": frozenset({"steward"}),
    "groups.archive": frozenset({"steward"}),
    "groups.open_again": frozenset({"steward"}),
    # weak spots: in sum for everybody in the group, one by one for whoever leads it
    **dict.fromkeys(("weak_spots.weak_spots", "weak_spots.beside", "weak_spots.own"), frozenset({"learner", "steward"})),
    "weak_spots.learner": frozenset({"steward"}),
    # open questions: anybody answers, whoever leads a group asks
    **dict.fromkeys(("open.question", "open.answer", "open.told", "open.picture", "open.feed"), ANYBODY),
    "open.by_mail": ANYBODY,
    **dict.fromkeys(("open.questions", "open.make", "open.led", "open.change", "open.end"), frozenset({"steward"})),
    # mail: one's own address; a link in a letter is its own proof
    **dict.fromkeys(("mail.address", "mail.forget_address", "mail.reminders"), SIGNED_IN),
    **dict.fromkeys(("mail.link", "mail.follow"), ANYBODY),
    # field tests: whoever leads sets and marks them, everybody in the group may sit one
    **dict.fromkeys(("teacher.field_tests", "teacher.set_field_test", "teacher.field_test"), frozenset({"steward"})),
    **dict.fromkeys(("teacher.item_analysis", "teacher.compare_sittings", "teacher.field_test_file"), frozenset({"steward"})),
    **dict.fromkeys(("teacher.shut_field_test", "teacher.release_field_test", "teacher.call_off_field_test"), frozenset({"steward"})),
    # the list of a class, slips, what is kept
    **dict.fromkeys(("teacher.roster", "teacher.roster_draft", "teacher.confirm_roster", "teacher.drop_roster"), frozenset({"steward"})),
    **dict.fromkeys(("teacher.rest_pupil", "teacher.bring_pupil_back", "teacher.given_items"), frozenset({"steward"})),
    **dict.fromkeys(("teacher.slips", "teacher.make_slips", "teacher.put_slips_away", "teacher.give_passphrase"), frozenset({"steward"})),
    "teacher.kept": frozenset({"learner", "steward"}),
    "teacher.records": frozenset({"steward"}),
    "given.choose": ANYBODY,
    **dict.fromkeys(("sittings.tests", "sittings.test", "sittings.begin"), frozenset({"learner", "steward"})),
    **dict.fromkeys(("sittings.sitting", "sittings.question", "sittings.answer"), frozenset({"learner", "steward"})),
    **dict.fromkeys(("sittings.picture", "sittings.pause", "sittings.go_on", "sittings.hand_in"), frozenset({"learner", "steward"})),
    # catalogues: anybody may make one; giving one back is for those who write one, and for their own alone
    "catalogue.catalogues": SIGNED_IN,
    "catalogue.upload": SIGNED_IN,
    "catalogue.staged": SIGNED_IN,
    "catalogue.bring_in": SIGNED_IN,
    "catalogue.drop": SIGNED_IN,
    "catalogue.export": frozenset({"steward", "keeper"}),
    "catalogue.new": SIGNED_IN,
    "catalogue.make": SIGNED_IN,
    "catalogue.catalogue": frozenset({"steward", "keeper"}),
    "catalogue.about": frozenset({"steward", "keeper"}),
    "catalogue.change_about": frozenset({"steward", "keeper"}),
    **dict.fromkeys(("catalogue.languages", "catalogue.language"), frozenset({"steward", "keeper"})),
    **dict.fromkeys(("catalogue.trait_words", "catalogue.change_trait_words"), frozenset({"steward", "keeper"})),
    **dict.fromkeys(("catalogue.pair_words", "catalogue.change_pair_words"), frozenset({"steward", "keeper"})),
    "catalogue.concepts": frozenset({"steward", "keeper"}),
    "catalogue.say_concepts": frozenset({"steward", "keeper"}),
    "catalogue.join": frozenset({"steward", "keeper"}),
    "catalogue.drop_concepts": frozenset({"steward", "keeper"}),
    "catalogue.retire_whole": frozenset({"steward", "keeper"}),
    "catalogue.take_back": frozenset({"steward", "keeper"}),
    "catalogue.checks": frozenset({"steward", "keeper"}),
    "catalogue.new_form": frozenset({"steward", "keeper"}),
    "catalogue.add_form": frozenset({"steward", "keeper"}),
    "catalogue.form": frozenset({"steward", "keeper"}),
    "catalogue.change_form": frozenset({"steward", "keeper"}),
    "catalogue.new_trait": frozenset({"steward", "keeper"}),
    "catalogue.add_trait": frozenset({"steward", "keeper"}),
    "catalogue.trait": frozenset({"steward", "keeper"}),
    "catalogue.change_trait": frozenset({"steward", "keeper"}),
    "catalogue.table": frozenset({"steward", "keeper"}),
    "catalogue.chances": frozenset({"steward", "keeper"}),
    "catalogue.say_chances": frozenset({"steward", "keeper"}),
    "catalogue.new_pair": frozenset({"steward", "keeper"}),
    "catalogue.add_pair": frozenset({"steward", "keeper"}),
    "catalogue.pair": frozenset({"steward", "keeper"}),
    "catalogue.change_pair": frozenset({"steward", "keeper"}),
    "catalogue.worked_pair": frozenset({"steward", "keeper"}),
    "catalogue.preview": frozenset({"steward", "keeper"}),
    "catalogue.new_set": frozenset({"steward", "keeper"}),
    "catalogue.add_set": frozenset({"steward", "keeper"}),
    "catalogue.pair_set": frozenset({"steward", "keeper"}),
    "catalogue.change_set": frozenset({"steward", "keeper"}),
    "catalogue.wall": frozenset({"steward", "keeper"}),
    **dict.fromkeys(("catalogue.copy_set", "catalogue.set_file"), frozenset({"steward", "keeper"})),
    **dict.fromkeys(("catalogue.set_zip", "catalogue.set_items"), frozenset({"steward", "keeper"})),
    "catalogue.shared_set": SIGNED_IN,
    "catalogue.copy_shared_set": SIGNED_IN,
    "catalogue.retire": frozenset({"steward", "keeper"}),
    "catalogue.move": frozenset({"steward", "keeper"}),
    "catalogue.changes": frozenset({"steward", "keeper"}),
    "catalogue.undo": frozenset({"steward", "keeper"}),
    "catalogue.stewards": frozenset({"steward", "keeper"}),
    "catalogue.add_steward": frozenset({"steward", "keeper"}),
    "catalogue.end_steward": frozenset({"steward", "keeper"}),
    # curating: a catalogue's pictures are for its stewards; what it lacks, for whoever drills from it too (its view asks that)
    "curating.wanted": SIGNED_IN,
    "curating.accept_many": frozenset({"steward", "keeper"}),
    **dict.fromkeys(
        ("curating.curating", "curating.offers", "curating.accept", "curating.decline", "curating.labels"), frozenset({"steward", "keeper"})
    ),
    **dict.fromkeys(
        ("curating.correct", "curating.undo_label", "curating.twins", "curating.one_scene", "curating.different"),
        frozenset({"steward", "keeper"}),
    ),
    **dict.fromkeys(
        ("curating.take_out", "curating.doubts", "curating.label_right", "curating.shortcuts", "curating.shortcut"),
        frozenset({"steward", "keeper"}),
    ),
    **dict.fromkeys(("curating.credited", "curating.credited_csv"), frozenset({"steward", "keeper"})),
    # what is kept about a pupil is for her teacher, about an account for the keeper
    **dict.fromkeys(("privacy.pupils", "privacy.pupil_kept", "privacy.export_pupil"), frozenset({"steward"})),
    **dict.fromkeys(("privacy.pupil_everything", "privacy.erase_pupil"), frozenset({"steward"})),
    **dict.fromkeys(("privacy.account_kept", "privacy.export_account", "privacy.account_everything"), frozenset({"keeper"})),
    **dict.fromkeys(("privacy.erase_account", "privacy.keeping"), frozenset({"keeper"})),
    # the keeper's
    "specimens.parts": frozenset({"keeper"}),
    "keeper.state": frozenset({"keeper"}),
    "keeper.people": frozenset({"keeper"}),
    "keeper.audit_log": frozenset({"keeper"}),
    "keeper.close_account": frozenset({"keeper"}),
    "keeper.let_lead": frozenset({"keeper"}),
    "keeper.invite": frozenset({"keeper"}),
    "keeper.end_invitation": frozenset({"keeper"}),
    **dict.fromkeys(("keeper.sign_up", "keeper.set_least_age", "keeper.demand_second_step"), frozenset({"keeper"})),
}


def _everybody(hall: Hall) -> dict[str, Visitor]:
    signed_in = {"learner": cast.LEARNER, "stranger": cast.STRANGER, "steward": cast.LEADER, "keeper": cast.KEEPER}
    return {"visitor": hall.visitor()} | {kind: hall.enter(someone, known=True) for kind, someone in signed_in.items()}


def test_every_route_has_a_row_and_every_row_a_route(full_hall: Hall) -> None:
    endpoints = {rule.endpoint for rule in rules_of(full_hall)}
    assert endpoints == set(WHO_MAY), "give each new route its row, here and in drillhall/web/who_may.py"
    assert endpoints == set(ACTION_OF)


def test_every_route_is_open_to_whom_it_should_be_and_shut_to_all_others(full_hall: Hall) -> None:
    people = _everybody(full_hall)
    tokens = {kind: somebody.token() for kind, somebody in people.items()}
    for endpoint in list(full_hall.app.view_functions):
        # What is asked here is who gets as far as the view; what each view then does is for its own tests.
        full_hall.app.view_functions[endpoint] = lambda **_: ("entered", 299)
    wrong = []
    for rule in rules_of(full_hall):
        for method in sorted(methods_of(rule)):
            for kind, somebody in people.items():
                headers = {"X-CSRFToken": tokens[kind]}
                answer = somebody.client.open(path_of(full_hall, rule), method=method, headers=headers)
                if _meaning(answer.status_code, answer.location) != _due(kind, rule.endpoint):
                    wrong.append(f"{method} {rule.rule} by {kind}: {answer.status_code}")
    assert not wrong


def _meaning(status: int, location: str | None) -> str:
    if status == 303 and (location or "").startswith("/sign-in"):
        return "sign in first"
    return {299: "entered", 404: "not there"}.get(status, str(status))


def _due(kind: str, endpoint: str) -> str:
    if kind in WHO_MAY[endpoint]:
        return "entered"
    return "sign in first" if kind == "visitor" else "not there"


@pytest.mark.parametrize("method", ["HEAD", "OPTIONS"])
def test_who_may_not_see_a_page_learns_no_more_by_asking_otherwise(hall: Hall, method: str) -> None:
    for somebody, status in ((hall.visitor(), 303), (hall.enter(cast.LEARNER), 404)):
        for path in ("/hall", "/hall/people/1/close", "/catalogues/none", "/groups/none"):
            answer = somebody.client.open(path, method=method if not path.endswith("close") else "OPTIONS")
            assert (answer.status_code, "Allow" in answer.headers) == (status, False), path


def test_a_route_without_a_row_is_open_to_nobody(sqlite_store: Store, tmp_path: Path) -> None:
    hall = open_hall(sqlite_store, tmp_path, demo=False)  # with a setting of its own, it shares its routes with no other test
    hall.app.add_url_rule("/forgotten", "forgotten", lambda: "entered")
    keeper = hall.enter(cast.KEEPER, is_keeper=True)
    for somebody in (keeper, hall.visitor()):
        answer = somebody.get("/forgotten")
        assert answer.status_code == 500
        assert "entered" not in answer.text


def test_reading_a_page_changes_no_row(full_hall: Hall) -> None:
    """Every GET route, by everybody, with things behind it that are there."""
    people = _everybody(full_hall)
    values = _things(full_hall, people["learner"], people["keeper"])
    values |= {"filename": "icon.svg", "icon_name": "icon-192", "name": "progress", "file_format": "csv"}
    asked = {"catalogue.join": learnt_elsewhere(full_hall.store)}
    opened: set[str] = set()
    before = all_rows(full_hall.store)
    for rule in rules_of(full_hall):
        if "GET" not in methods_of(rule):
            continue
        for somebody in people.values():
            token = values.get(rule.endpoint, "wrong")
            answer = somebody.get(path_of(full_hall, rule, **values | {"token": token}), query_string=asked.get(rule.endpoint))
            answer.close()
            assert answer.status_code < 500, rule
            if answer.status_code == 200:
                opened.add(rule.endpoint)
        assert all_rows(full_hall.store) == before, f"GET {rule.rule} has written"
    reading = {rule.endpoint for rule in rules_of(full_hall) if "GET" in methods_of(rule)}
    # What is not open here: the first run and open sign-up of a hall that has its keeper, stepping in, which demo halls have, and
    # choosing one's own passphrase, which wants a slip shown first, and the second step, which wants a passphrase shown first.
    # And two that answer to what is asked of them: from how far off, and a picture on which a shape can be told at all.
    asked_for = {"pictures.preview", "pictures.preview_shape"}
    shown_first = {"given.choose", "second_step.code", "second_step.set_up", "second_step.make_passkey"}
    assert reading - opened <= {"account.first_run", "account.sign_up", "account.step_in", *shown_first, *asked_for}
