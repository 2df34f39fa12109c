"""The map asks no address outside, lets no name run as code, and tells what was clicked."""

import json
import math
import re
from typing import Any

import geopandas as gpd
import pandas as pd
import pytest
import shapely
from shapely import LineString, Point, box
from shapely.affinity import scale

from dashboard import maps
from dashboard.charts.palette import DARK, LIGHT

EVIL = "<img src=x onerror=alert(1)>`${alert(2)}`\\"
LAT = 39.0
SHRINK = math.cos(math.radians(LAT))


def pivot(lon: float, lat: float, radius_m: float = 400.0):
    return scale(Point(lon, lat).buffer(radius_m / 111_320, 32), 1 / SHRINK, 1.0)


def fields() -> gpd.GeoDataFrame:
    half = pivot(-101.0, LAT + 0.02).intersection(box(-102, LAT + 0.02, -100, LAT + 1))
    return gpd.GeoDataFrame(
        {"field": ["a", "b", "c"], "name": [EVIL, "Hask 4", None]},
        geometry=[pivot(-101.0, LAT), half, box(-101.03, LAT, -101.02, LAT + 0.008)],
        crs="EPSG:4326",
    )


def shown() -> pd.DataFrame:
    return pd.DataFrame({
        "field": ["a", "b"], "value_text": ["7.3", "2.0"], "code": ["depleted", "near_full"],
        "known": True, "held": [True, False], "silent": [False, True],
        "tooltip": [f"{EVIL}: 7.3 in short below 3 ft", "Hask 4: 2.0 in short below 3 ft"],
    })  # fmt: skip


def landmarks() -> gpd.GeoDataFrame:
    return gpd.GeoDataFrame(
        {"landmark": ["r", "c"], "kind": ["road", "canal"], "name": [EVIL, None]},
        geometry=[LineString([(-102, LAT), (-100, LAT)]), LineString([(-101, 38), (-101, 40)])],
        crs="EPSG:4326",
    )


def drawn(fields, shown, palette=LIGHT, **more):
    return maps.field_group(maps.field_sketch(fields, shown, palette, **more))


def page(palette=LIGHT, **more) -> str:
    ground = maps.base_map(maps.bounds_of(list(fields().geometry)), landmarks(), palette,
                           "static/leaflet.js", "static/leaflet.css", **more)  # fmt: skip
    maps.selection_ring(pivot(-101.0, LAT), palette).add_to(ground)
    drawn(fields(), shown(), palette, selected="a", names={"b"}).add_to(ground)
    return ground.get_root().render()


def sketched(text: str) -> list[dict[str, Any]]:
    """Give what the ring and the fields draw, as the page's script reads it."""
    return [json.loads(one) for one in re.findall(r"\)\(feature_group_\w+, (.*?)\);\n", text)]


def styled(one: dict[str, Any], kind: str) -> list[dict[str, Any]]:
    return [{**mark, **one["styles"][mark["style"]]} for mark in one[kind]]


@pytest.mark.parametrize("palette", [LIGHT, DARK], ids=["light", "dark"])
def test_nothing_is_asked_from_outside(palette):
    text = page(palette)
    assert re.findall(r"(?:https?:)?//[\w.-]+\.\w{2,}", text) == []
    sources = re.findall(r"(?:src|href)=\"([^\"]*)\"", text)
    assert sources == ["static/leaflet.js", "static/leaflet.css"]
    assert '"attributionControl": false' in text
    assert "jquery" not in text.lower()


def test_an_online_background_is_asked_for_by_its_address_only():
    template = "https://tiles.example/{z}/{x}/{y}.png"
    assert template in page(tiles=template)
    assert "tileLayer" not in page()


def test_other_maps_keep_their_own_addresses():
    import folium  # noqa: PLC0415 - only this test looks at the class

    page()
    assert any(
        name == "leaflet" and "://" in address for name, address in folium.Map.default_js
    )


def test_names_are_inert_in_markup_and_in_script():
    text = page()
    assert "<img" not in text
    assert "${alert" not in text
    for literal in re.findall(r"`(.*?)`", text, flags=re.DOTALL):
        assert "\\" not in literal
        assert "$" not in literal
    _, district = sketched(text)
    tip = district["shapes"][0]["tip"]
    assert tip.startswith("&lt;img src=x onerror=alert(1)&gt;&#96;&#36;{alert(2)}")
    assert not set(tip) & set("<>`$\\")


def test_full_pivots_are_circles_and_the_rest_polygons():
    ring, district = sketched(page())
    # the pivot's outline and its dotted rim and ring; b and c with their overlays are polygons
    assert sum("circle" in one for one in (*ring["shapes"], *district["shapes"])) == 4
    assert sum("rings" in one for one in (*ring["shapes"], *district["shapes"])) == 3
    lat, lon, radius = district["shapes"][0]["circle"]
    assert (lat, lon) == pytest.approx((LAT, -101.0), abs=1e-6)
    assert radius == pytest.approx(400.0, rel=0.002)


@pytest.mark.parametrize(
    "shape",
    [box(0, 0, 1, 1), pivot(0, LAT).intersection(box(-1, LAT, 1, LAT + 1)),
     pivot(0, LAT).difference(pivot(0, LAT, 100.0)), shapely.MultiPolygon()],
    ids=["square", "half", "ring", "empty"],
)  # fmt: skip
def test_what_is_not_round_is_no_circle(shape):
    # isoperimetric quotients: square pi/4 = 0.79, half disc 0.75; a ring has a hole
    assert maps.circle_of(shape) is None


def test_each_state_has_its_mark():
    _, district = sketched(page())
    shapes, words = styled(district, "shapes"), styled(district, "words")
    fills = [one.get("fillColor") for one in shapes]
    assert fills == [
        LIGHT.depleted,
        None,
        LIGHT.near_full,
        "url(#ow-silent)",
        "url(#ow-hatch)",
    ]  # c has no row: not known
    assert [one["text"] for one in words if one["kind"] == "ow-number"] == ["7.3", "2.0", "?"]
    assert [one["dashArray"] for one in shapes if "dashArray" in one] == ["0.1 7"]
    assert 'id="ow-hatch"' in page()


def test_numbers_of_the_two_shortest_classes_are_bold_and_larger():
    _, district = sketched(page())
    seven, two, *_ = [one["css"] for one in styled(district, "words")]
    assert "font-size:16px;font-weight:700" in seven
    assert "font-size:14px;font-weight:400" in two


def test_words_swallow_no_click():
    text = page()
    markers = re.findall(r"L\.marker\([^,]*(?:\[[^\]]*\])?,\s*\{(.*?)\bicon", text, re.DOTALL)
    assert markers
    assert all(re.search(r"\binteractive\W+false", one) for one in markers)
    assert ".ow-number, body .ow-name" in text
    assert "pointer-events: none" in text


def written(group: Any) -> list[str]:
    told = [json.loads(sketch.told) for sketch in group._children.values()]
    return [one["text"] for sketch in told for one in sketch["words"]]


def test_only_the_asked_names_are_written():
    group = drawn(fields(), shown(), LIGHT, names={"b"})
    assert sorted(written(group)) == ["2.0", "7.3", "?", "Hask 4"]


def test_names_that_would_touch_give_way_to_the_selection():
    near = gpd.GeoDataFrame(
        {"field": ["a", "b"], "name": ["A long name of a field", "Another long name of one"]},
        geometry=[pivot(-101.0, LAT), pivot(-101.0 + 0.0003, LAT)], crs="EPSG:4326",
    )  # fmt: skip
    told = written(drawn(near, shown(), LIGHT, selected="b", names=["a"]))
    assert "Another long name of one" in told


def test_a_thousand_fields_weigh_little():
    many = gpd.GeoDataFrame(
        {"field": [f"f{n}" for n in range(1000)]}, crs="EPSG:4326",
        geometry=[pivot(-101.0 + 0.02 * (n % 40), LAT + 0.02 * (n // 40)) for n in range(1000)],
    )  # fmt: skip
    every = pd.concat([shown().iloc[:1].assign(field=f"f{n}") for n in range(1000)])
    told = maps.field_sketch(many, every, LIGHT)
    assert len(told) < 500_000
    assert len(json.loads(told)["styles"]) == 3


@pytest.mark.parametrize("across_deg", [0.0, 0.2, 2.0, 12.0, 180.0])
def test_a_wide_district_has_no_more_grid_lines_than_a_small_one(across_deg):
    west, south = -101.0, -80.0
    bounds = (west, south, west + across_deg, south + across_deg / 2)
    ground = maps.base_map(bounds, landmarks().iloc[:0], LIGHT, "leaflet.js", "leaflet.css")
    written = ground.get_root().render()
    grid = re.findall(r"L\.polyline\(\s*(\[\[.*?\]\]\])", written, re.DOTALL)
    lines = json.loads(grid[0])
    assert 10 <= len(lines) <= 140


def test_a_click_finds_its_field():
    every = fields()
    assert maps.field_at(every, {"lat": LAT, "lng": -101.0}) == "a"
    assert maps.field_at(every, {"lat": LAT + 0.004, "lng": -101.025}) == "c"
    assert maps.field_at(every, {"lat": LAT + 0.019, "lng": -101.0}) is None  # cut half
    # 3 m outside the many-sided boundary, still on the drawn circle
    assert maps.field_at(every, {"lat": LAT + 403 / 111_320, "lng": -101.0}) == "a"


@pytest.mark.parametrize("clicked", [None, {}, {"lat": None, "lng": None}, "x"])
def test_no_click_is_no_field(clicked):
    assert maps.field_at(fields(), clicked) is None


def test_of_overlapping_fields_the_smallest_is_meant():
    over = gpd.GeoDataFrame(
        {"field": ["big", "small"]},
        crs="EPSG:4326",
        geometry=[pivot(-101, LAT, 800), pivot(-101, LAT, 100)],
    )
    assert maps.field_at(over, {"lat": LAT, "lng": -101.0}) == "small"


def test_the_scale_bar_speaks_the_reader_s_units():
    assert "{metric: false, imperial: true" in page()
    assert "{metric: true, imperial: false" in page(system="mm")


def test_bounds_of_nothing_are_refused():
    with pytest.raises(ValueError, match="no shape"):
        maps.bounds_of([])
    assert maps.bounds_of([box(0, 1, 2, 3), Point(5, -1)]) == (0, -1, 5, 3)


def test_an_empty_district_still_draws():
    none = fields().iloc[:0]
    group = drawn(none, shown(), LIGHT)
    assert not group._children
