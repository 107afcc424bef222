"""What stands behind the routes of a hall, for the walk of them all."""

from __future__ import annotations

from datetime import timedelta
from io import BytesIO
from typing import Any

from drillhall.people import accounts, invitations, links
from drillhall.post.sealing import CONFIRM_ADDRESS, seal
from tests.visits import Hall, Visitor
from tests.web.planned import asks_openly, exports_are_noted, has_a_passkey, plans_a_week
from tests.web.teacher.tested import a_sitting

GROUP = "00000000-0000-4000-8000-000000000007"


def things_of(hall: Hall, learner: Visitor, steward: Visitor) -> dict[str, Any]:
    """Return values for the arguments of routes that lead to something, by argument, and tokens by endpoint."""
    plan = learner.client.post("/drills", headers={"X-CSRFToken": learner.token()}, json={})
    packet = learner.get(plan.get_json()["packet_url"]).get_json()
    showings = [showing for one in packet["rounds"] for showing in one["showings"]]
    path = showings[0]["picture"]["url"].split("/")
    given_back = steward.get("/catalogues/small-estuary/export")
    upload = {"zip": (BytesIO(given_back.data), "x.zip")}
    given_back.close()
    staged = str(steward.post("/catalogues", upload, content_type="multipart/form-data").location)
    trial = learner.post("/pairs/1/try")
    rarity = learner.post("/pairs/1/rarity", {"rare": "1", "one_in": "2", "showings": "2"})
    words = learner.post("/words")
    with hall.store.work() as db:
        keeper = accounts.the_keeper(db)
        joining = invitations.invite(db, by=keeper, at=hall.clock(), places=3)
        exports_are_noted(db, at=hall.clock())
        stepping = links.make_link(db, links.STEP_IN, until=hall.clock() + timedelta(days=1), account_id=keeper.id)
    of_hers = a_sitting(hall, GROUP, learner) | has_a_passkey(hall) | {"packet": packet, "tongue": "de"}
    return of_hers | {
        "day": asks_openly(hall, GROUP, path[-2]),
        "drill_id": packet["drill"],
        "rarity_id": str(rarity.location).rpartition("/")[2],
        "word_drill_id": str(words.location).rpartition("/")[2],
        "trial_id": str(trial.location).rpartition("/")[2],
        "public_id": path[-2],
        "recipe": path[-1],
        "key": "small-estuary",
        "form_key": "sluice_fiddler",
        "trait_key": "bill",
        "set_key": "fiddlers",
        "pair_key": "sluice_fiddler:marsh_fiddler",
        "group_key": GROUP,
        "account_id": 2,
        "membership_id": 2,
        "catalogue.staged": staged.rpartition("/")[2],
        "groups.calendar_feed": plans_a_week(hall, GROUP),
        "purpose": "confirm-address",
        "mail.link": seal(str(hall.app.secret_key), CONFIRM_ADDRESS, "any", until=hall.clock() + timedelta(days=2)),
        "account.join": joining,
        "account.step_in": stepping,
    }
