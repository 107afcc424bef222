"""What makes the hall an app on a device: manifest, icons, worker, the page without a connection, versioned files, packed words."""

from __future__ import annotations

import gzip
import re
from io import BytesIO
from pathlib import Path

import pytest
from PIL import Image
from werkzeug.test import TestResponse

from drillhall.config import asset_folder
from drillhall.web import assets
from drillhall.web.icons import ICONS, UNITS, draw
from tests.cast import LEARNER
from tests.visits import Hall

ZIPPED = "gzip, deflate, br"


def get(hall: Hall, address: str, **headers: str) -> TestResponse:
    """Ask as a visitor, and read the answer whole."""
    return hall.visitor().get(address, headers={name.replace("_", "-"): value for name, value in headers.items()}, buffered=True)


def address_of(hall: Hall, name: str) -> str:
    with hall.app.test_request_context():
        return hall.app.url_for("static", filename=name)


def test_the_manifest_says_what_a_device_needs_to_install_the_hall(hall: Hall) -> None:
    # Members and their meaning: W3C, Web Application Manifest (2025), sections 1.3 to 1.13. That installing takes a PNG of 192 and one of
    # 512 pixels beside name, start and display: from memory, of what browsers ask for.
    answer = hall.visitor().get("/manifest.webmanifest")
    told = answer.get_json()
    assert answer.mimetype == "application/manifest+json"
    assert (told["start_url"], told["scope"], told["display"]) == ("/", "/", "standalone")
    assert {told["name"], told["short_name"]} == {"Drillhall"}
    assert (told["theme_color"], told["background_color"]) == (assets.shade("paper").light,) * 2
    for icon in told["icons"]:
        picture = Image.open(BytesIO(hall.visitor().get(icon["src"]).data))
        assert (picture.format, f"{picture.width}x{picture.height}") == ("PNG", icon["sizes"])
    assert {icon["purpose"] for icon in told["icons"]} == {"any", "maskable"}


def test_the_colours_are_those_of_the_tokens() -> None:
    assert (assets.shade("paper"), assets.shade("ink")) == (assets.Shade("#f7f7f5", "#111111"), assets.Shade("#1c1d1f", "#cdc7bc"))
    icon = (asset_folder("static") / "icon.svg").read_text(encoding="utf-8")
    assert set(re.findall(r"#[0-9a-f]{6}", icon)) == {assets.shade("paper").light, assets.shade("ink").light}


@pytest.mark.parametrize("name", ICONS)
def test_an_icon_is_the_midline_between_two_ladders(name: str) -> None:
    icon = ICONS[name]
    picture = Image.open(BytesIO(draw(icon))).convert("RGB")
    colours = picture.getcolors(maxcolors=8)
    assert colours
    assert {colour for _, colour in colours} == {(247, 247, 245), (28, 29, 31)}
    middle = icon.side_px // 2
    ink = [(x, y) for x in range(icon.side_px) for y in range(icon.side_px) if picture.getpixel((x, y)) == (28, 29, 31)]
    # The same drawing in every size: so many units of ink, alike on both sides of the midline.
    assert len(ink) == icon.unit_px**2 * (2 * 52 + 2 * (23 + 18 + 13) * 10)
    assert {(2 * middle - 1 - x, y) for x, y in ink} == set(ink)
    assert {x for x, y in ink if y == middle - 29 * icon.unit_px + 3 * icon.unit_px} == set(
        range(middle - icon.unit_px, middle + icon.unit_px)
    )
    if icon.purpose == "maskable":
        # W3C, Web Application Manifest, section 1.13.3: the safe zone is a circle whose radius is 2/5 of the side.
        assert all((x - middle) ** 2 + (y - middle) ** 2 <= (icon.side_px * 2 / 5) ** 2 for x, y in ink)
    assert icon.unit_px * UNITS <= icon.side_px


def test_an_icon_that_is_not_there_is_not_found(hall: Hall) -> None:
    assert hall.visitor().get("/icons/other.png").status_code == 404


def test_the_worker_may_answer_for_the_whole_hall_and_is_asked_for_anew(hall: Hall) -> None:
    # A worker's reach is the folder it comes from (W3C, Service Workers, section 7.1 of the register algorithm: the default scope).
    answer = get(hall, "/sw.js")
    assert answer.mimetype == "text/javascript"
    assert answer.headers["Cache-Control"] == "no-cache"
    shell = answer.text.splitlines()[0]
    assert assets.version() in shell
    assert ('"language": "en"' in shell, '"language": "de"' in get(hall, "/sw.js", accept_language="de").text) == (True, True)
    for file in re.findall(r'"(/static/[^"]+)"', shell):
        assert get(hall, file).status_code == 200, file
    assert get(hall, "/sw.js", if_none_match=answer.headers["ETag"]).status_code == 304


def test_the_page_without_a_connection_is_nobodys(hall: Hall) -> None:
    told = hall.enter(LEARNER).get("/offline").text
    assert told == get(hall, "/offline").text
    assert LEARNER.name not in told
    assert "data-queue" not in told


def test_the_version_is_that_of_what_the_files_hold(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("static", "templates"):
        (tmp_path / name).mkdir()
    (tmp_path / "static" / "a.css").write_text("p {}", encoding="utf-8")
    monkeypatch.setattr(assets, "asset_folder", lambda name: tmp_path / name)
    told = assets.version.__wrapped__
    first = told()
    assert told() == first
    (tmp_path / "static" / "a.css").write_text("p { }", encoding="utf-8")
    changed = told()
    (tmp_path / "static" / "a.css").rename(tmp_path / "static" / "b.css")
    renamed = told()
    (tmp_path / "templates" / "page.html").write_text("", encoding="utf-8")
    assert len({first, changed, renamed, told()}) == 4
    assert len(first) == assets.VERSION_SIGNS


def test_a_file_of_this_version_is_kept_for_good_and_any_other_asked_for_again(hall: Hall) -> None:
    now = get(hall, address_of(hall, "css/base.css"))
    assert now.cache_control.immutable
    assert now.cache_control.max_age == assets.YEAR_SECONDS
    for address in ("/static/css/base.css", f"/static/{'0' * 12}/css/base.css"):
        other = get(hall, address)
        assert (other.data, other.headers["Cache-Control"]) == (now.data, "no-cache")
    assert get(hall, f"/static/{assets.version()}/../../pyproject.toml").status_code == 404


def test_words_leave_packed_where_they_are_taken_so(hall: Hall) -> None:
    for address in ("/sign-in", address_of(hall, "css/base.css"), "/sw.js"):
        plain, packed = get(hall, address), get(hall, address, accept_encoding=ZIPPED)
        assert "Content-Encoding" not in plain.headers
        assert packed.headers["Content-Encoding"] == "gzip"
        assert "Accept-Encoding" in packed.headers["Vary"]
        assert "Accept-Encoding" in plain.headers["Vary"]
        assert len(packed.data) < len(plain.data) / 1.5
        assert int(packed.headers["Content-Length"]) == len(packed.data)
        if "static" in address:
            assert gzip.decompress(packed.data) == plain.data


def test_what_is_short_refused_or_packed_already_leaves_as_it_is(hall: Hall) -> None:
    for address in ("/csrf", "/icons/icon-512.png"):
        assert "Content-Encoding" not in get(hall, address, accept_encoding=ZIPPED).headers
    assert "Content-Encoding" not in get(hall, "/sign-in", accept_encoding="gzip;q=0").headers


def test_a_packed_file_known_already_is_not_sent_again(hall: Hall) -> None:
    packed = get(hall, "/static/css/base.css", accept_encoding=ZIPPED)
    assert packed.headers["ETag"].startswith("W/")
    again = get(hall, "/static/css/base.css", accept_encoding=ZIPPED, if_none_match=packed.headers["ETag"])
    assert (again.status_code, again.data) == (304, b"")


def test_sheets_joined_in_an_address_come_as_one(hall: Hall) -> None:
    joined = get(hall, address_of(hall, "css/tokens~base~parts/table.css"))
    assert joined.text == "\n".join(assets.read(f"css/{name}.css") for name in ("tokens", "base", "parts/table"))
    assert joined.cache_control.immutable
    assert joined.mimetype == "text/css"
    for wrong in ("css/tokens~nothing.css", "css/tokens~../../pyproject.toml", "css/tokens~../js/sw.js"):
        assert get(hall, f"/static/{wrong}").status_code == 404, wrong
