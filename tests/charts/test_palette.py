"""The palette keeps what the look promises: contrast, tone in order, steps told apart by all.

Formulas, written here and not in the program:
WCAG 2.1 relative luminance and contrast ratio (W3C 2018); sRGB to CIELAB, D65 (IEC 61966-2-1,
CIE 15); CIEDE2000 (Sharma, Wu & Dalal 2005, Color Res. Appl. 30:21-30); colour vision
deficiency at severity 1 (Machado, Oliveira & Fernandes 2009, IEEE TVCG 15:1291-1298).
"""

import itertools

import numpy as np
import pytest

from analytics.water.classes import CLASSES as CODES
from analytics.water.classes import classify
from dashboard.charts.palette import (
    BAND,
    CLASSES,
    DARK,
    LIGHT,
    SHADE,
    class_colour,
    letter,
    text_on,
)
from dashboard.words.meeting import TILES_KEY

THEMES = pytest.mark.parametrize("palette", [LIGHT, DARK], ids=["light", "dark"])
FLOOR = 9.0  # smallest CIEDE2000 between neighbours, look page

# MEMORY: matrices of Machado et al. 2009 at severity 1.0, on linear RGB.
SEEN = {
    "normal": np.eye(3),
    "deuteranopia": np.array([[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413],
                              [-0.011820, 0.042940, 0.968881]]),
    "protanopia": np.array([[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216],
                            [-0.003882, -0.048116, 1.051998]]),
    "tritanopia": np.array([[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602],
                            [0.004733, 0.691367, 0.303900]]),
    "grey": np.array([[0.2126, 0.7152, 0.0722]] * 3),
}  # fmt: skip


def linear(colour: str) -> np.ndarray:
    share = np.array([int(colour[i : i + 2], 16) for i in (1, 3, 5)]) / 255
    return np.where(share <= 0.04045, share / 12.92, ((share + 0.055) / 1.055) ** 2.4)


def luminance(colour: str) -> float:
    return float(linear(colour) @ [0.2126, 0.7152, 0.0722])


def contrast(one: str, other: str) -> float:
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def lab(rgb: np.ndarray) -> np.ndarray:
    to_xyz = np.array([[0.4124564, 0.3575761, 0.1804375], [0.2126729, 0.7151522, 0.0721750],
                       [0.0193339, 0.1191920, 0.9503041]])  # fmt: skip
    ratio = to_xyz @ np.clip(rgb, 0, 1) / [0.95047, 1.0, 1.08883]
    cut = (6 / 29) ** 3
    f = np.where(ratio > cut, np.cbrt(ratio), ratio / (3 * (6 / 29) ** 2) + 4 / 29)
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


def _hue_means(h1: float, h2: float, chroma: float) -> tuple[float, float]:
    if chroma == 0:
        return 0.0, h1 + h2
    apart = h2 - h1
    if abs(apart) <= 180:
        return apart, (h1 + h2) / 2
    turn = -360 if apart > 0 else 360
    return apart + turn, (h1 + h2 + (360 if h1 + h2 < 360 else -360)) / 2


def ciede2000(one: np.ndarray, other: np.ndarray) -> float:
    """Sharma, Wu & Dalal 2005, Eq. 2-22, with kL = kC = kH = 1."""
    mean_c = (np.hypot(*one[1:]) + np.hypot(*other[1:])) / 2
    grow = 1 + 0.5 * (1 - np.sqrt(mean_c**7 / (mean_c**7 + 25.0**7)))
    a = np.array([one[1], other[1]]) * grow
    b = np.array([one[2], other[2]])
    c, h = np.hypot(a, b), np.degrees(np.arctan2(b, a)) % 360
    d_h, mean_h = _hue_means(h[0], h[1], c[0] * c[1])
    d_light, d_chroma = other[0] - one[0], c[1] - c[0]
    d_hue = 2 * np.sqrt(c[0] * c[1]) * np.sin(np.radians(d_h / 2))
    mean_l, mean_c = (one[0] + other[0]) / 2, c.mean()
    t = (1 - 0.17 * np.cos(np.radians(mean_h - 30)) + 0.24 * np.cos(np.radians(2 * mean_h))
         + 0.32 * np.cos(np.radians(3 * mean_h + 6))
         - 0.20 * np.cos(np.radians(4 * mean_h - 63)))  # fmt: skip
    s_l = 1 + 0.015 * (mean_l - 50) ** 2 / np.sqrt(20 + (mean_l - 50) ** 2)
    s_c, s_h = 1 + 0.045 * mean_c, 1 + 0.015 * mean_c * t
    spin = 60 * np.exp(-(((mean_h - 275) / 25) ** 2))
    r_t = -np.sin(np.radians(spin)) * 2 * np.sqrt(mean_c**7 / (mean_c**7 + 25.0**7))
    parts = (d_light / s_l, d_chroma / s_c, d_hue / s_h)
    return float(np.sqrt(sum(one**2 for one in parts) + r_t * parts[1] * parts[2]))


@pytest.mark.parametrize(
    ("one", "other", "told"),
    [  # MEMORY: Sharma et al. 2005, Table 1, pairs 1, 7, 25, 31 and 34
        ((50.0, 2.6772, -79.7751), (50.0, 0.0, -82.7485), 2.0425),
        ((50.0, 0.0, 0.0), (50.0, -1.0, 2.0), 2.3669),
        ((60.2574, -34.0099, 36.2677), (60.4626, -34.1751, 39.4387), 1.2644),
        ((22.7233, 20.0904, -46.6940), (23.0331, 14.9730, -42.5619), 2.0373),
        ((2.0776, 0.0795, -1.1350), (0.9033, -0.0636, -0.5514), 0.9082),
    ],
)  # fmt: skip
def test_the_difference_formula_gives_its_authors_values(one, other, told):
    assert ciede2000(np.array(one), np.array(other)) == pytest.approx(told, abs=5e-5)


@pytest.mark.parametrize(
    ("seen", "light", "dark"),
    [  # the look page's own figures
        ("normal", 11.2, 13.3), ("deuteranopia", 11.3, 12.1), ("protanopia", 10.6, 12.6),
        ("tritanopia", 11.2, 13.3), ("grey", 11.0, 9.4),
    ],
)  # fmt: skip
def test_neighbouring_classes_are_told_apart_however_colour_is_seen(seen, light, dark):
    for palette, told in ((LIGHT, light), (DARK, dark)):
        labs = [lab(SEEN[seen] @ linear(class_colour(palette, one))) for one in CODES]
        least = min(ciede2000(a, b) for a, b in itertools.pairwise(labs))
        assert least >= FLOOR
        assert least == pytest.approx(told, abs=0.3)


@THEMES
def test_the_shorter_of_water_the_stronger_against_the_ground(palette):
    steps = [contrast(class_colour(palette, one), palette.ground) for one in CODES]
    assert steps == sorted(steps, reverse=True)
    assert len(set(steps)) == len(CODES)


@pytest.mark.parametrize(
    ("palette", "told"),
    [  # contrast on the ground, look page
        (LIGHT, {"ink": 16.4, "muted": 6.7, "edge": 3.7, "line": 1.4, "highlight": 8.9,
                 "depleted": 11.8, "low": 6.2, "partial": 3.3, "near_full": 2.0, "full": 1.3}),
        (DARK, {"ink": 15.5, "muted": 7.9, "edge": 4.4, "line": 1.5, "highlight": 9.5,
                "depleted": 13.4, "low": 8.2, "partial": 5.6, "near_full": 3.7, "full": 1.9}),
    ],
    ids=["light", "dark"],
)  # fmt: skip
def test_contrast_on_the_ground_is_as_told(palette, told):
    for token, ratio in told.items():
        assert contrast(getattr(palette, token), palette.ground) == pytest.approx(
            ratio, abs=0.06
        )


@THEMES
def test_text_can_be_read_wherever_it_stands(palette):
    for code in CODES:
        assert contrast(text_on(palette, code), class_colour(palette, code)) >= 4.5
    assert contrast(palette.on_highlight, palette.highlight) >= 4.5
    for ground in (palette.ground, palette.panel, palette.tint):
        assert contrast(palette.ink, ground) >= 7
        assert contrast(palette.muted, ground) >= 4.5


def test_outlines_carry_the_two_palest_classes():
    for palette in (LIGHT, DARK):
        assert contrast(palette.edge, palette.ground) >= 3


def laid_over(colour: str, ground: str, opacity: float) -> str:
    """Mix two colours as a browser does, each channel as it is written."""
    pairs = [(int(colour[i : i + 2], 16), int(ground[i : i + 2], 16)) for i in (1, 3, 5)]
    mixed = (round(opacity * one + (1 - opacity) * other) for one, other in pairs)
    return "#" + "".join(f"{one:02X}" for one in mixed)


@THEMES
def test_a_band_of_values_is_seen_where_it_lies(palette):
    stretch = laid_over(palette.line, palette.ground, SHADE)
    for ground in (palette.ground, stretch):
        band = laid_over(palette.edge, ground, BAND)
        assert contrast(band, ground) >= 1.4  # a shaded stretch has 1.13 and is seen; ours
        assert contrast(palette.muted, band) >= 3  # the line of the middle, WCAG 1.4.11


def test_classes_are_the_program_s_own():
    assert [one.code for one in CLASSES] == list(CODES)
    assert "".join(one.letter for one in CLASSES) == "DLPNF"
    for one in CLASSES[1:]:
        names, _ = classify([one.lower, one.lower - 1e-9], 0.0)
        assert names[0] == one.code
        assert names[1] != one.code


def test_what_is_not_known_has_no_ramp_colour():
    for ask in (class_colour, text_on):
        with pytest.raises(KeyError):
            ask(LIGHT, "unknown")
    assert letter(None) == "?"


def test_the_key_of_the_tiles_is_true_of_both_themes():
    """Dry is dark on light ground and pale on dark: the key may name hues, never shades."""
    told = " ".join(TILES_KEY)
    assert "Brown to sand is short of water" in told
    assert not {"dark", "darker", "pale", "paler", "light"} & set(told.lower().split())
    for palette in (LIGHT, DARK):
        red, _, blue = linear(class_colour(palette, "depleted"))
        assert red > blue, "the driest is brown"
        red, green, blue = linear(class_colour(palette, "full"))
        assert min(green, blue) > red, "the fullest is teal"
