"""The core: to scale, honest about what is not known, inert whatever a field is called."""

import base64
import itertools
from xml.etree import ElementTree as ET

import pandas as pd
import pytest

from dashboard.charts.core import core_figure, core_label, core_layers, core_svg, data_uri
from dashboard.charts.figures import interval_svg
from dashboard.charts.palette import DARK, LIGHT

SVG = "{http://www.w3.org/2000/svg}"
EVIL = '<img src=x onerror="alert(1)">&'


def rows() -> pd.DataFrame:
    """Four layers; 25 mm of room each 10 cm: full, half full and held, unknown, over full."""
    common = {"zone": "layer", "lower_mm": 30.0, "full_mm": 80.0, "left_mm": 40.0}
    return pd.DataFrame([
        {**common, "top_cm": 60.0, "bottom_cm": 120.0, "water_mm": 55.0, "fill": 0.5,
         "class": "partial", "held": False, "basis": "texture"},
        {**common, "top_cm": 0.0, "bottom_cm": 20.0, "water_mm": 80.0, "fill": 1.0,
         "class": "full", "held": True, "basis": "learned"},
        {**common, "top_cm": 120.0, "bottom_cm": 160.0, "water_mm": float("nan"),
         "fill": float("nan"), "class": None, "held": None, "basis": None,
         "left_mm": float("nan")},
        {**common, "top_cm": 20.0, "bottom_cm": 60.0, "water_mm": 90.0, "fill": 1.2,
         "class": "full", "held": False, "basis": "set"},
        {**common, "zone": "deep", "top_cm": 90.0, "bottom_cm": 160.0, "water_mm": 90.0,
         "fill": 0.4, "class": "low", "held": False, "basis": "learned:1"},
    ])  # fmt: skip


def drawn(text: str) -> ET.Element:
    return ET.fromstring(text)  # noqa: S314 - our own text


def strip(palette=LIGHT, **more) -> ET.Element:
    return drawn(core_svg(core_layers(rows()), width=80, height=160, palette=palette,
                          label="Corrie 12", **more))  # fmt: skip


def test_layers_come_from_the_surface_down_and_zones_are_left_out():
    layers = core_layers(rows())
    assert [one.top_cm for one in layers] == [0, 20, 60, 120]
    # (40 - 30) / (80 - 30): the share that the crop left
    assert layers[0].left_fill == pytest.approx(0.2)
    assert layers[2].holds_mm == 25
    assert layers[2].room_mm == 50


def test_state_is_read_without_guessing():
    full, over, half, unknown = core_layers(rows())
    assert (full.held, over.held) == (True, False)
    assert [one.unsure for one in (full, over, half, unknown)] == [False, False, True, True]
    assert not unknown.known
    assert unknown.code is None


def px(one: ET.Element, key: str) -> float:
    return float(one.get(key, "nan"))


def bars(picture: ET.Element, colour: str) -> list[ET.Element]:
    return [one for one in picture.iter(f"{SVG}rect") if one.get("fill") == colour]


def test_bars_are_to_scale_in_depth_and_in_fill():
    [half] = bars(strip(), LIGHT.partial)
    # 1 px a cm: from 60 to 120 cm, below 2 px of margin; half of 80 px
    assert [px(half, one) for one in ("x", "y", "width", "height")] == [6, 62, 40, 60]


def test_a_bar_never_crosses_the_full_mark_and_the_overrun_stands_beyond_it():
    held, over = bars(strip(), LIGHT.full)
    assert px(over, "width") == 80
    assert px(held, "fill-opacity") == 0.5
    [run] = [one for one in bars(strip(), LIGHT.ink) if one.get("width") == "3"]
    assert px(run, "x") == pytest.approx(86 + 1.2)


def lines(picture: ET.Element, **wanted: str) -> list[ET.Element]:
    every = picture.iter(f"{SVG}line")
    return [one for one in every if all(one.get(key) == to for key, to in wanted.items())]


def test_the_full_mark_is_dashed_where_its_point_is_unsure():
    marks = lines(strip(), x1="86", x2="86", stroke=LIGHT.ink)
    assert [one.get("stroke-dasharray") is not None for one in marks] == [
        False,
        False,
        True,
        True,
    ]


def test_what_the_crop_left_is_a_tick_with_a_halo_in_each_known_layer():
    at = "22"  # 6 + 0.2 x 80
    assert len(lines(strip(), x1=at, x2=at, stroke=LIGHT.ink)) == 3
    assert len(lines(strip(), x1=at, x2=at, stroke=LIGHT.ground)) == 3


def test_what_is_not_known_is_hatched_and_what_is_held_is_dotted():
    picture = strip()
    assert {one.get("id") for one in picture.iter(f"{SVG}pattern")} == {"hatch", "held"}
    [hatched] = bars(picture, "url(#hatch)")
    assert [px(hatched, one) for one in ("y", "height")] == [122, 40]
    [dotted] = bars(picture, "url(#held)")
    assert px(dotted, "height") == 20


@pytest.mark.parametrize(("split", "count"), [(90.0, 2), (160.0, 0), (0.0, 0)])
def test_notches_stand_at_the_split_inside_the_core_only(split, count):
    notches = [one for one in strip(split_cm=split).iter(f"{SVG}line")
               if one.get("y1") == one.get("y2")]  # fmt: skip
    assert len(notches) == count
    assert {one.get("y1") for one in notches} <= {"92"}


def test_an_unknown_core_is_one_hatched_strip():
    picture = drawn(core_svg((), width=24, height=64, palette=DARK, label="x"))
    assert [one.get("width") for one in bars(picture, "url(#hatch)")] == ["24"]
    assert (picture.get("width"), picture.get("height")) == ("36", "68")


def test_markup_in_a_name_is_inert():
    label = core_label(EVIL, 28.0, 140.0, "in")
    for text in (
        core_svg(core_layers(rows()), width=24, height=64, palette=LIGHT, label=label),
        core_figure(core_layers(rows()), "in", LIGHT, upper_mm=1.0, deep_mm=2.0, label=label,
                    foot=EVIL),
    ):  # fmt: skip
        picture = drawn(text)
        assert "<img" not in text
        assert picture.get("aria-label", "").startswith(EVIL)
        assert picture.get("role") == "img"


def test_the_figure_says_each_layer_and_zone_in_the_reader_s_units():
    def said(system):
        picture = drawn(core_figure(core_layers(rows()), system, LIGHT, upper_mm=28.0,
                                    deep_mm=140.0, label="x"))  # fmt: skip
        return [one.text or "" for one in picture.iter(f"{SVG}text")]

    inches, metric = said("in"), said("mm")
    # 140 mm / 25.4 = 5.51; 28 / 25.4 = 1.10; 50 mm of room = 1.97; 24-47 in = 60-120 cm
    assert {"5.5 in short", "below 3 ft", "1.1 in short", "of 2.0", "24–47", "3 ft"} <= {
        *inches
    }
    assert {"140 mm short", "below 90 cm", "of 50", "60–120", "not known"} <= {*metric}
    assert not any("in short" in one or "ft" in one for one in metric)


def test_the_figure_marks_where_roots_stop_and_ends_the_zones_there():
    def made(limit):
        return core_figure(core_layers(rows()), "mm", LIGHT, upper_mm=28.0, deep_mm=140.0,
                           label="x", root_limit_cm=limit)  # fmt: skip

    def said(limit):
        return [one.text or "" for one in drawn(made(limit)).iter(f"{SVG}text")]

    assert said(None).count("roots stop") == said(500.0).count("roots stop") == 0
    assert said(100.0).count("roots stop") == 1
    assert "140 mm short" in said(100.0)
    assert "140 mm short" not in said(75.0), "no deep zone above the pan"
    assert "28 mm short" in said(75.0)
    assert made(500.0) == made(None)


def test_labels_of_thin_layers_keep_apart():
    thin = pd.concat([rows().iloc[[0]].assign(top_cm=float(i), bottom_cm=i + 1.0)
                      for i in range(12)])  # fmt: skip
    picture = drawn(core_figure(core_layers(thin), "mm", LIGHT, upper_mm=None, deep_mm=None,
                                label="x", height=170))  # fmt: skip
    ys = sorted(px(one, "y") for one in picture.iter(f"{SVG}text")
                if one.get("font-weight") == "700")  # fmt: skip
    assert len(ys) == 12
    assert min(b - a for a, b in itertools.pairwise(ys)) >= 13.9


def test_a_data_address_carries_the_whole_picture():
    text = core_svg((), width=24, height=64, palette=LIGHT, label="½")
    head, packed = data_uri(text).split(",")
    assert head == "data:image/svg+xml;base64"
    assert base64.b64decode(packed).decode() == text


def test_the_interval_holds_eight_in_ten():
    # 100 mm on a scale to 200 mm over 120 px: 0.6 px a mm; 1.2816 x 10 mm = 7.69 px each way
    picture = drawn(interval_svg(100.0, 10.0, 200.0, "mm", LIGHT))
    [dot] = picture.iter(f"{SVG}circle")
    assert px(dot, "cx") == 64
    [span] = lines(picture, stroke=LIGHT.ink)
    assert px(span, "x1") == pytest.approx(64 - 7.69, abs=0.01)
    assert px(span, "x2") == pytest.approx(64 + 7.69, abs=0.01)
    assert picture.get("aria-label") == "100 mm, 8 in 10 between 87 mm and 113 mm"


def test_an_unknown_figure_is_drawn_as_its_bare_scale():
    picture = drawn(interval_svg(float("nan"), 10.0, 200.0, "mm", LIGHT))
    assert not list(picture.iter(f"{SVG}circle"))
    assert picture.get("aria-label") == "not known"
