"""Angles, details and haze against worked values, colour vision against another implementation and the published matrices."""

from __future__ import annotations

import warnings

import pytest

from drillhall.core.optics import MACHADO, Deficiency, FarView, as_seen_by, hazed, transmission, what_is_left

# Worked by hand from the definitions: 1 minute of arc is decimal acuity 1.0; angle = 2 atan(s / 2D), times the magnification.
ANGLES = [
    # length mm, distance m, magnification, angle in arcmin, least detail mm, line pairs
    (500, 200, 1, 8.5944, 58.178, 4.2972),
    (500, 200, 8, 68.7549, 7.272, 34.38),
    (500, 200, 10, 85.9436, 5.818, 42.97),
    (500, 50, 8, 275.0174, 1.818, 137.51),
    (140, 20, 8, 192.5130, 0.727, 96.26),
    (500, 1000, 8, 13.7510, 36.361, 6.88),
    (500, 1000, 30, 51.5662, 9.696, 25.78),
    (50, 200, 8, 6.8755, 7.272, 3.44),
]


@pytest.mark.parametrize(("length_mm", "distance_m", "magnification", "arcmin", "detail_mm", "line_pairs"), ANGLES)
def test_what_is_left_of_a_bird(
    length_mm: float, distance_m: float, magnification: float, arcmin: float, detail_mm: float, line_pairs: float
) -> None:
    left = what_is_left(length_mm, FarView(distance_m, magnification))
    assert left.angle_arcmin == pytest.approx(arcmin, abs=6e-5)
    assert left.detail_mm == pytest.approx(detail_mm, abs=6e-4)
    assert left.length_px / 2 == pytest.approx(line_pairs, abs=6e-3), "a line pair, one bar light and one dark, is two pixels"


def test_the_gap_of_a_standard_letter_is_one_detail() -> None:
    # Source: the standard 20/20 letter spans 5 minutes of arc, 8.7266 mm at 6 m, with gaps of a fifth of it, 1.7453 mm.
    left = what_is_left(8.7266, FarView(6))
    assert left.angle_arcmin == pytest.approx(5, abs=1e-3)
    assert left.detail_mm == pytest.approx(1.7453, abs=6e-5)


@pytest.mark.parametrize(
    ("visibility_km", "at_200_m", "at_1_km"),
    [(1, 0.457307, 0.020000), (5, 0.855149, 0.457307), (10, 0.924742, 0.676245), (20, 0.961635, 0.822341), (50, 0.984474, 0.924742)],
)
def test_what_haze_leaves(visibility_km: float, at_200_m: float, at_1_km: float) -> None:
    # Source: Koschmieder 1924, t = exp(-3.912 d / V), worked by hand.
    assert transmission(200, visibility_km) == pytest.approx(at_200_m, abs=1e-6)
    assert transmission(1000, visibility_km) == pytest.approx(at_1_km, abs=1e-6)


def test_light_through_haze() -> None:
    # Source: the same, I = J t + A (1 - t), worked by hand for J = .2, A = .9, V = 5 km, d = 1 km.
    assert hazed(0.2, transmission(1000, 5), airlight=0.9) == pytest.approx(0.579885, abs=1e-6)


@pytest.mark.parametrize(
    ("colour", "protan", "deutan"),
    [
        # Computed with colorspacious 1.1.2 ("sRGB1+CVD", severity 100), which is no dependency of ours.
        ((255, 0, 0), (109, 95, 0), (163, 144, 0)),
        ((0, 255, 0), (255, 229, 0), (239, 214, 58)),
        ((0, 0, 255), (0, 89, 255), (0, 61, 251)),
        ((128, 128, 128), (128, 128, 128), (128, 128, 128)),
        ((150, 110, 60), (124, 112, 55), (133, 121, 61)),
        ((90, 130, 60), (135, 121, 54), (129, 118, 65)),
    ],
)
def test_colours_as_others_see_them(colour: tuple[int, int, int], protan: tuple[int, int, int], deutan: tuple[int, int, int]) -> None:
    assert as_seen_by(colour, Deficiency.PROTAN) == protan
    assert as_seen_by(colour, Deficiency.DEUTAN) == deutan


@pytest.mark.parametrize(("ours", "theirs"), [("protan", "Protanomaly"), ("deutan", "Deuteranomaly")])
def test_the_matrices_are_those_of_colour_science(ours: str, theirs: str) -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # it tells of optional packages that are not there
        import colour
    for row, told in zip(MACHADO[ours], colour.matrix_cvd_Machado2009(theirs, 1.0), strict=True):
        assert row == pytest.approx(tuple(told), abs=1e-6)
