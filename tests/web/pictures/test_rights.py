"""The rights of one's own picture over HTTP: seeing them, changing them, what is refused, and ending a permission."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import Any

import pyexiv2
import pytest
from sqlalchemy import select

from drillhall.core.licences import LICENCES
from drillhall.core.rights import Purpose, Rights
from drillhall.pictures.ingest import add_picture, take
from drillhall.pictures.storage import FolderStorage
from drillhall.store.models.groups import GroupRow, MembershipRow
from drillhall.store.models.people import AccountRow
from drillhall.store.models.pictures import FileRow, PictureOfferRow, PictureRow, PictureShareRow, RightsRow
from drillhall.store.queries.pictures import rights_of
from tests.cast import LEARNER, STRANGER
from tests.pictures.drawn import NOW, PUBLIC_ID, accept, add_catalogue, add_form, saved, scene
from tests.visits import Hall, Visitor

PAGE = f"/my-pictures/{PUBLIC_ID}/rights"
MAKER = {"creator": "Ada Mudd", "credit": "Ada Mudd"}
TAKEN = take(saved(scene()))
OPEN = Rights("Ada Mudd", LICENCES["CC-BY-4.0"], "Ada Mudd")


@pytest.fixture
def learner(hall: Hall) -> Visitor:
    return hall.enter(LEARNER)


def keep(hall: Hall, rights: Rights) -> None:
    """Keep a picture of the learner's, who must have entered before."""
    with hall.store.work() as db:
        owner = db.scalars(select(AccountRow.id).where(AccountRow.name == LEARNER.name)).one()
        add_picture(
            db,
            FolderStorage(hall.folder / "pictures"),
            TAKEN,
            public_id=PUBLIC_ID,
            owner_id=owner,
            form_id=add_form(db),
            rights=rights,
            at=NOW,
        )


def held(hall: Hall) -> Rights:
    with hall.store.look() as db:
        return rights_of(db.scalars(select(RightsRow)).one())


def addresses(hall: Hall) -> list[str]:
    with hall.store.look() as db:
        recipes = db.scalars(select(FileRow.recipe).where(FileRow.size_name != "original").order_by(FileRow.size_name))
        return [f"/pictures/{PUBLIC_ID}/{recipe}" for recipe in recipes]


def packets(hall: Hall, visitor: Visitor) -> Iterator[dict[str, Any]]:
    for address in addresses(hall):
        with pyexiv2.ImageData(visitor.get(address).data) as read:
            yield read.read_xmp()


PERMISSION = MAKER | {
    "licence": "LicenseRef-used-with-permission",
    "granted_by": "Ada Mudd",
    "granted_on": "2031-03-01",
    "until": "2032-01-01",
    "scope": "group",
    "permitted_altered": "yes",
    "evidence": "Her letter of 1 March.",
}


def test_the_page_tells_who_may_have_it_for_what(hall: Hall, learner: Visitor) -> None:
    keep(hall, Rights("Ada Mudd", LICENCES["CC-BY-NC-ND-3.0"], "Ada Mudd"))
    page = learner.get(PAGE).text
    assert "CC BY-NC-ND 3.0 allows no altered copies: it is shown whole and as it is." in page
    assert "CC BY-NC-ND 3.0 allows no use that is paid for." in page
    assert "reading aid, not legal advice" in page
    assert 'value="https://creativecommons.org/licenses/by-nc-nd/3.0/"' in page
    assert 'value="by-address" checked' in page


def test_other_rights_stand_in_the_row_and_in_every_file_that_is_sent(hall: Hall, learner: Visitor) -> None:
    keep(hall, Rights())
    before = addresses(hall)
    typed = MAKER | {"licence": "CC-BY-SA-4.0", "data_mining": "DMI-PROHIBITED", "understood": "yes"}
    assert learner.post(PAGE, typed).location == f"{PAGE}?did=changed"
    assert held(hall) == Rights("Ada Mudd", LICENCES["CC-BY-SA-4.0"], "Ada Mudd", data_mining="DMI-PROHIBITED")
    told = list(packets(hall, learner))
    assert [packet["Xmp.cc.license"] for packet in told] == ["https://creativecommons.org/licenses/by-sa/4.0/"] * len(before)
    assert {packet["Xmp.plus.DataMining"] for packet in told} == {"http://ns.useplus.org/ldf/vocab/DMI-PROHIBITED"}
    assert [learner.get(address).status_code for address in before] == [404] * len(before)


def test_the_pixels_stay_as_they_are_when_rights_change(hall: Hall, learner: Visitor) -> None:
    keep(hall, OPEN)
    old = [learner.get(address).data for address in addresses(hall)]
    learner.post(PAGE, MAKER | {"licence": "CC0-1.0", "understood": "yes"})
    new = [learner.get(address).data for address in addresses(hall)]
    assert [_pixels(content) for content in old] == [_pixels(content) for content in new]
    assert old != new


def _pixels(content: bytes) -> bytes:
    start = content.index(b"VP8 ", 12)
    return content[start : start + 8 + int.from_bytes(content[start + 4 : start + 8], "little")]


def test_a_cut_tells_the_new_rights_and_goes_where_nobody_may_have_one(hall: Hall, learner: Visitor) -> None:
    keep(hall, OPEN)
    frame = {"left": "10", "top": "10", "width": "80", "height": "80"}
    assert learner.post(f"/my-pictures/{PUBLIC_ID}/frame", frame).status_code == 303
    assert renditions(hall) == {"as taken", "cut"}
    learner.post(PAGE, MAKER | {"licence": "CC-BY-ND-4.0", "understood": "yes"})
    assert renditions(hall) == {"as taken", "cut"}
    assert {packet["Xmp.xmpRights.UsageTerms"]['lang="x-default"'] for packet in packets(hall, learner)} == {"CC BY-ND 4.0"}
    older = {"licence": "by-address", "licence_address": "https://creativecommons.org/licenses/by-nd/3.0/"}
    learner.post(PAGE, MAKER | older | {"understood": "yes"})
    assert renditions(hall) == {"as taken"}


def renditions(hall: Hall) -> set[str]:
    with hall.store.look() as db:
        return set(db.scalars(select(FileRow.rendition)))


def test_what_comes_of_it_is_said_before_anything_changes(hall: Hall, learner: Visitor) -> None:
    keep(hall, Rights())
    answer = learner.post(PAGE, MAKER | {"licence": "CC-BY-4.0"})
    assert answer.status_code == 422
    assert "Whoever gets a copy under CC BY 4.0 may use it so for good" in answer.text
    assert "Nothing is changed yet." in answer.text
    assert held(hall) == Rights()


def test_narrower_rights_end_the_shares_and_offers_that_they_forbid(hall: Hall, learner: Visitor) -> None:
    keep(hall, OPEN)
    with hall.store.work() as db:
        picture = db.scalars(select(PictureRow)).one()
        for title, is_paid in (("Flats Club", False), ("Sluice School", True)):
            group = GroupRow(public_id=title, title=title, is_paid=is_paid, made_at=NOW)
            db.add(group)
            db.flush()
            db.add(MembershipRow(group_id=group.id, account_id=picture.owner_id, since=NOW))
            db.add(PictureShareRow(picture_id=picture.id, group_id=group.id, shared_at=NOW))
        db.add(PictureOfferRow(picture_id=picture.id, catalogue_id=add_catalogue(db), offered_at=NOW))
    unpaid = MAKER | {"licence": "CC-BY-NC-4.0"}
    told = learner.post(PAGE, unpaid).text
    assert "It is no longer shared with Sluice School." in told
    assert "Flats Club" not in told
    learner.post(PAGE, unpaid | {"understood": "yes"})
    assert running(hall) == (["Flats Club"], [""])
    learner.post(PAGE, {"licence": "", "understood": "yes"})
    assert running(hall) == ([], ["taken back"])


def running(hall: Hall) -> tuple[list[str], list[str]]:
    with hall.store.look() as db:
        query = (
            select(GroupRow.title).join(PictureShareRow, PictureShareRow.group_id == GroupRow.id).where(PictureShareRow.ended_at.is_(None))
        )
        return list(db.scalars(query)), list(db.scalars(select(PictureOfferRow.decision)))


def test_a_lost_file_does_not_keep_rights_from_being_tightened(hall: Hall, learner: Visitor) -> None:
    stranger = hall.enter(STRANGER)
    keep(hall, OPEN)
    with hall.store.work() as db:
        accept(db, add_catalogue(db), db.scalars(select(PictureRow.id)).one())
        lost = db.scalars(select(FileRow).where(FileRow.size_name == "small")).one()
    left = next(address for address in addresses(hall) if not address.endswith(lost.recipe))
    assert stranger.get(left).status_code == 200
    FolderStorage(hall.folder / "pictures").delete(lost.storage_key)
    assert learner.post(PAGE, MAKER | {"licence": "only-you", "understood": "yes"}).status_code == 303
    assert held(hall).licence == LICENCES["LicenseRef-all-rights-reserved"]
    assert [stranger.get(address).status_code for address in addresses(hall)] == [404] * len(addresses(hall))
    with hall.store.look() as db:
        assert db.scalars(select(FileRow.storage_key).where(FileRow.size_name == "small")).one() == lost.storage_key


def test_a_permission_is_kept_with_all_that_was_said(hall: Hall, learner: Visitor) -> None:
    keep(hall, Rights())
    assert learner.post(PAGE, PERMISSION | {"understood": "yes"}).status_code == 303
    kept = held(hall)
    assert kept.agreed == {Purpose.GROUP, Purpose.ALTERED}
    assert (kept.granted_by, kept.granted_on, kept.until) == ("Ada Mudd", date(2031, 3, 1), date(2032, 1, 1))
    assert kept.evidence == "Her letter of 1 March."
    page = learner.get(PAGE).text
    for shown in ('value="2031-03-01"', 'value="2032-01-01"', "Her letter of 1 March."):
        assert shown in page


def test_a_permission_ended_early_ends_for_everybody_at_once(hall: Hall, learner: Visitor) -> None:
    stranger = hall.enter(STRANGER)
    keep(hall, Rights())
    learner.post(PAGE, PERMISSION | {"understood": "yes"})
    with hall.store.work() as db:
        accept(db, add_catalogue(db), db.scalars(select(PictureRow.id)).one())
    assert stranger.get(addresses(hall)[0]).status_code == 200
    assert learner.post(f"{PAGE}/end").location == f"{PAGE}?did=ended"
    assert [who.get(addresses(hall)[0]).status_code for who in (learner, stranger)] == [404, 404]
    page = learner.get(PAGE)
    assert page.status_code == 200
    assert "The permission ended on" in page.text
    assert "End it now" not in page.text


def test_a_licence_cannot_be_ended_like_a_permission(hall: Hall, learner: Visitor) -> None:
    keep(hall, OPEN)
    answer = learner.post(f"{PAGE}/end")
    assert answer.status_code == 422
    assert "This picture rests on no permission" in answer.text
    assert held(hall) == OPEN


@pytest.mark.parametrize(
    ("typed", "field", "told"),
    [
        ({"licence": "CC-BY-9.0"}, "licence", "Choose from the list"),
        ({"licence": "by-address", "licence_address": ""}, "licence_address", "The hall does not know that licence"),
        ({"licence": "by-address", "licence_address": "https://licences.example/free"}, "licence_address", "does not know that licence"),
        ({"licence": "by-address", "licence_address": "https://creativecommons.org/licenses/by/2.1/"}, "licence_address", "does not know"),
        (
            {"licence": "by-address", "licence_address": "https://creativecommons.org/licenses/by/2.0/xx/"},
            "licence_address",
            "does not know",
        ),
        ({"licence": "by-address", "licence_address": "LicenseRef-used-with-permission"}, "licence_address", "does not know"),
        ({"licence": "CC-BY-4.0", "creator": " "}, "creator", "Say who made the picture"),
        ({"licence": "CC-BY-4.0", "creator": "\0"}, "creator", "a sign that cannot be stored"),
        ({"licence": "CC-BY-4.0", "creator": "a" * 201}, "creator", "200 letters at most"),
        ({"licence": "CC-BY-4.0", "statement": "a" * 2001}, "statement", "2000 letters at most"),
        ({"licence": "CC-BY-4.0", "data_mining": "<b>"}, "data_mining", "Choose from the list whether machines"),
        ({"licence": "CC-PDM-1.0"}, "marked_evidence", "Say why nobody has rights"),
        ({"licence": "CC-PDM-1.0", "marked_evidence": "Its age."}, "marked_granted_by", "Say who says that"),
        (PERMISSION | {"granted_by": ""}, "granted_by", "Say who gave the permission."),
        (PERMISSION | {"granted_on": ""}, "granted_on", "Say when the permission was given."),
        (PERMISSION | {"granted_on": "last week"}, "granted_on", "write the day as 2031-05-17"),
        (PERMISSION | {"granted_on": "2031-12-01"}, "granted_on", "dated in the future"),
        (PERMISSION | {"granted_on": "2001-01-01", "until": "2002-01-01"}, "until", "The permission ended on 2002-01-01."),
        (PERMISSION | {"until": "2031-02-01"}, "until", "ends before it was given"),
        (PERMISSION | {"scope": "everybody"}, "scope", "Choose from the list for whom"),
    ],
)
def test_what_is_refused_changes_nothing_and_keeps_what_was_typed(
    hall: Hall, learner: Visitor, typed: dict[str, str], field: str, told: str
) -> None:
    keep(hall, OPEN)
    answer = learner.post(PAGE, MAKER | typed | {"understood": "yes"})
    assert answer.status_code == 422
    assert told in answer.text
    assert f'id="{field}-mend"' in answer.text
    assert held(hall) == OPEN


def test_nobody_sees_or_changes_the_rights_of_somebody_elses_picture(hall: Hall, learner: Visitor) -> None:
    stranger = hall.enter(STRANGER)
    keep(hall, OPEN)
    assert stranger.get(PAGE).status_code == 404
    assert stranger.post(PAGE, MAKER | {"licence": "CC0-1.0", "understood": "yes"}).status_code == 404
    assert stranger.post(f"{PAGE}/end").status_code == 404
    assert learner.get("/my-pictures/nothing/rights").status_code == 404
    assert held(hall) == OPEN
