"""A hall in which the learner has sent pictures: some described, some waiting for a word, one withdrawn."""

from __future__ import annotations

from datetime import timedelta
from random import Random
from uuid import UUID

from PIL import Image

from drillhall.acts.describe_pictures import describe_pictures
from drillhall.core.licences import LICENCES
from drillhall.core.rights import Rights
from drillhall.pictures import describing, ingest, own, sent, withdrawing
from tests import cast
from tests.hall import Hall
from tests.pictures.drawn import saved

SENT = 8


def a_photograph(number: int, *, artist: str = "", size: tuple[int, int] = (480, 360), day: str = "2031:02:11 06:45:10") -> bytes:
    """Return a JPEG that looks like no other, with the day on which it was taken and who took it."""
    dice = Random(number)
    patches = Image.new("RGB", (8, 6))
    patches.putdata([(dice.randint(60, 220), dice.randint(60, 200), dice.randint(50, 180)) for _ in range(48)])
    exif = Image.Exif()
    exif.get_ifd(0x8769)[0x9003] = day
    exif.get_ifd(0x8825)[1] = "N"
    if artist:
        exif[0x013B] = artist
    return saved(patches.resize(size, Image.Resampling.BICUBIC), exif=exif, quality=85)


def public_id_of(number: int) -> str:
    """Return the name of the so-manieth picture that was sent."""
    return str(UUID(int=number, version=4))


def pictures_sent(hall: Hall) -> None:
    """Let the learner send eight pictures, describe three, withdraw one of them, and keep one for field tests."""
    learner, day = hall.people[cast.LEARNER].id, hall.clock.now.date()
    with hall.store.work() as db:
        for number in range(1, SENT + 1):
            taken = ingest.take(a_photograph(number, artist="Oda Querfurth" if number % 2 else "Halvard Minniken"))
            at = hall.clock.now + timedelta(seconds=number)
            sent.keep_sent(db, hall.storage, taken, public_id=public_id_of(number), owner_id=learner, at=at)
        known = [one.form.id for one in own.list_known_forms(db, learner)]
        said = {
            1: describing.Description(
                form=describing.FormSaid(known[0]), orientation="left", rights=Rights("O", LICENCES["CC-BY-4.0"], "O")
            ),
            2: describing.Description(form=describing.FormSaid(known[0], known[1]), typical=False, setting="mud"),
            3: describing.Description(form=describing.FormSaid(known[1])),
        }
        for number, one in said.items():
            at = hall.clock.now
            names = [public_id_of(number)]
            describe_pictures(db, hall.storage, account_id=learner, public_ids=names, said=one, at=at, on=day)
        withdrawing.retire_picture(db, account_id=learner, public_id=public_id_of(3), at=hall.clock.now)
