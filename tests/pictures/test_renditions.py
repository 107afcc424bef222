"""The sizes that are served: what a reader of another make finds in them, and that they fit a slow line."""

from __future__ import annotations

from dataclasses import replace

import pyexiv2
import pytest
from PIL import Image, PngImagePlugin

from drillhall.core.licences import CC0, LICENCES
from drillhall.core.rights import Rights
from drillhall.pictures.ingest import take
from drillhall.pictures.renditions import SMALL_MOST_BYTES, MadeSize, make_sizes, rights_packet, with_rights
from tests.pictures.drawn import OPEN, has_corners, noise, opened, saved, scene

SECRET = "Fictavis limosa, juvenile, North Flats"
LATITUDE = 2


def test_the_sizes_of_a_large_picture() -> None:
    large, small = make_sizes(scene(3000, 2000), content_sha256="-")
    assert (large.name, large.width_px, large.height_px) == ("large", 1600, 1067)
    assert (small.name, small.width_px, small.height_px) == ("small", 640, 427)
    assert all(opened(size.content).size == (size.width_px, size.height_px) for size in (large, small))
    assert all(has_corners(opened(size.content)) for size in (large, small))


@pytest.mark.parametrize(("came", "names"), [((960, 640), ["large", "small"]), ((641, 300), ["large", "small"]), ((640, 480), ["large"])])
def test_a_small_picture_is_never_made_larger(came: tuple[int, int], names: list[str]) -> None:
    made = make_sizes(scene(*came), content_sha256="-")
    assert [size.name for size in made] == names
    assert (made[0].width_px, made[0].height_px) == came


@pytest.mark.parametrize("image", [noise(1600, 1200), noise(400, 300).resize((1600, 1200)), scene(1600, 1600)])
def test_the_small_size_fits_a_slow_line_whatever_it_shows(image: Image.Image) -> None:
    small = with_rights(make_sizes(image, content_sha256="-")[1], replace(OPEN, creator="M" * 200, credit="C" * 300))
    assert len(small.content) <= SMALL_MOST_BYTES
    assert max(small.width_px, small.height_px) >= 240


def test_a_heavy_picture_of_few_pixels_gets_a_lighter_size_that_is_smaller_still() -> None:
    large, small = make_sizes(noise(500, 500), content_sha256="-")
    assert len(large.content) > SMALL_MOST_BYTES
    assert (len(small.content) <= SMALL_MOST_BYTES, small.width_px) == (True, 360)


def test_a_recipe_tells_apart_sizes_contents_and_rights_and_nothing_else() -> None:
    first, again, other = (make_sizes(scene(), content_sha256=content) for content in ("a", "a", "b"))
    assert first == again
    recipes = {size.recipe for made in (first, other) for size in made}
    recipes |= {with_rights(size, OPEN).recipe for size in first}
    assert len(recipes) == 6
    assert all(len(recipe) == 32 and set(recipe) <= set("0123456789abcdef") for recipe in recipes)


def loaded(kind: str) -> bytes:
    """A picture that tells all it should not: place, camera, comment, title, keywords, taxon, thumbnail's frame."""
    exif = Image.Exif()
    exif[0x010E] = SECRET
    exif[0x013B] = "Somebody else"
    exif.get_ifd(0x8825)[LATITUDE] = (51.0, 30.0, 0.0)
    exif.get_ifd(0x8769)[0x9286] = SECRET
    xmp = rights_packet(Rights(creator=SECRET, credit=SECRET)).replace(b"dc:creator", b"dc:title")
    more = {"JPEG": {"comment": SECRET.encode()}, "PNG": {"pnginfo": PngImagePlugin.PngInfo()}}.get(kind, {})
    if kind == "PNG":
        more["pnginfo"].add_text("Comment", SECRET)
        more["pnginfo"].add_itxt("XML:com.adobe.xmp", xmp.decode())
    else:
        more["xmp"] = xmp
    return saved(scene(), kind, exif=exif, **more)


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "AVIF", "TIFF"])
def test_another_reader_finds_the_rights_and_nothing_else(kind: str) -> None:
    source = loaded(kind)
    assert SECRET.encode() in source
    for size in take(source, keep_original=False).sizes:
        served = with_rights(size, replace(OPEN, title=SECRET, source="https://club.example/north-flats", statement=SECRET)).content
        assert b"Fictavis" not in served
        assert b"north-flats" not in served
        # Source: IPTC Photo Metadata Standard 2025.1 for the properties; read by Exiv2, which is no part of the hall.
        with pyexiv2.ImageData(served) as read:
            assert read.read_xmp() == {
                "Xmp.dc.creator": ["Ada Mudd"],
                "Xmp.dc.rights": {'lang="x-default"': "© Ada Mudd"},
                "Xmp.photoshop.Credit": "Ada Mudd / Flats Club",
                "Xmp.xmpRights.UsageTerms": {'lang="x-default"': "CC BY 4.0"},
                "Xmp.xmpRights.WebStatement": "https://creativecommons.org/licenses/by/4.0/",
                "Xmp.xmpRights.Marked": "True",
                "Xmp.cc.license": "https://creativecommons.org/licenses/by/4.0/",
            }
            assert read.read_exif() == {}
            assert read.read_iptc() == {}
            assert read.read_icc() in (b"", None)
            assert not read.read_comment()


def packet_of(rights: Rights) -> dict[str, object]:
    with pyexiv2.ImageData(with_rights(make_sizes(scene(), content_sha256="-")[0], rights).content) as read:
        return read.read_xmp()


def test_what_is_given_to_all_is_not_marked_as_copyright() -> None:
    told = packet_of(Rights("Ada Mudd", CC0, "Ada Mudd"))
    assert told["Xmp.xmpRights.Marked"] == "False"
    assert "Xmp.dc.rights" not in told


def test_a_private_picture_names_no_licence() -> None:
    assert packet_of(Rights()) == {"Xmp.xmpRights.Marked": "True"}


def test_the_owner_of_the_rights_is_told_where_she_is_not_the_maker() -> None:
    told = packet_of(Rights("Ada Mudd", LICENCES["CC-BY-4.0"], "Ada Mudd", rights_owner="Flats Club"))
    assert told["Xmp.dc.rights"] == {'lang="x-default"': "© Flats Club"}


def test_signs_that_would_break_the_packet_come_through_as_they_are() -> None:
    odd = 'Ann "A" <b> & Co. ]]> \x00\x1b\u2028é鷸'
    assert packet_of(Rights(odd, CC0, odd))["Xmp.dc.creator"] == ['Ann "A" <b> & Co. ]]> é鷸']


def test_what_carries_a_packet_already_or_is_no_plain_webp_is_refused() -> None:
    size = make_sizes(scene(), content_sha256="-")[0]
    with pytest.raises(ValueError, match="plain lossy WebP"):
        with_rights(with_rights(size, OPEN), OPEN)
    with pytest.raises(ValueError, match="plain lossy WebP"):
        with_rights(MadeSize("large", "-", saved(scene()), 800, 600), OPEN)
