"""Which action of the permissions table each route is; a route without a row here is refused to everybody."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

ACTION_OF: Final[Mapping[str, str]] = MappingProxyType(
    {
        "static": "enter",
        "account.csrf": "enter",
        "account.sign_in": "enter",
        "account.sign_out": "enter",
        "account.first_run": "enter",
        "account.join": "enter",
        "account.sign_up": "enter",
        "account.step_in": "enter",
        "account.settings": "own account",
        "account.passphrase": "own account",
        "account.devices": "own account",
        "account.end_device": "own account",
        "account.sign_out_everywhere": "own account",
        "keeper.state": "keep the hall",
        "keeper.people": "keep the hall",
        "keeper.close_account": "keep the hall",
        "keeper.invite": "keep the hall",
        "keeper.end_invitation": "keep the hall",
        "keeper.sign_up": "keep the hall",
        # The learner's rooms
        "learner.today": "own drill",
        "learner.plan": "own drill",
        "learner.packet": "own drill",
        "learner.drill": "own drill",
        "learner.answer": "own drill",
        "learner.drill_end": "own drill",
        "learner.standing": "own drill",
        "learner.meet": "own drill",
        "learner.shelf": "own drill",
        "learner.take": "own drill",
        "learner.put_back": "own drill",
        # Pictures
        "pictures.the_picture": "see a picture",
        "pictures.my_pictures": "own pictures",
        "pictures.add": "own pictures",
        "pictures.retire": "own pictures",
        "pictures.send": "own pictures",
        "pictures.known": "own pictures",
        "pictures.describe": "own pictures",
        "pictures.describe_chosen": "own pictures",
        "pictures.picture": "own pictures",
        "pictures.bring_back": "own pictures",
        "pictures.delete_files": "own pictures",
        "pictures.delete_originals": "own pictures",
        "pictures.sharing": "own pictures",
        "pictures.share_one": "own pictures",
        "pictures.end_share": "own pictures",
        "pictures.share": "own pictures",
        "pictures.offer": "own pictures",
        "pictures.take_back": "own pictures",
        # Groups
        "groups.all_groups": "make or join a group",
        "groups.make": "make or join a group",
        "groups.enter": "make or join a group",
        "groups.group": "see a group",
        "groups.leave": "see a group",
        "groups.invite": "lead a group",
        "groups.end_invitation": "lead a group",
        "groups.end_membership": "lead a group",
        "groups.make_head": "lead a group",
        "groups.step_down": "lead a group",
        "groups.archive": "lead a group",
        "groups.open_again": "lead a group",
        # Catalogues
        "catalogue.catalogues": "make a catalogue",
        "catalogue.upload": "make a catalogue",
        "catalogue.staged": "make a catalogue",
        "catalogue.bring_in": "make a catalogue",
        "catalogue.drop": "make a catalogue",
        "catalogue.export": "write a catalogue",
    }
)
"""Endpoint → action."""
