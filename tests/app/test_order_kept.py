"""What the order's page keeps is that of the source, the units and the field chosen."""

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from analytics.store import people
from dashboard.charts.palette import DARK, LIGHT
from dashboard.data import opened, watering
from dashboard.views.parts import order_map, order_page, order_panels
from tests.app.launching import launched


@pytest.fixture
def drawn(monkeypatch: pytest.MonkeyPatch) -> dict[str, list[Any]]:
    """Catch what the page draws instead of drawing it."""
    caught: dict[str, list[Any]] = {"figure": [], "table": [], "map": []}
    group = order_map.maps.field_group
    monkeypatch.setattr(
        order_panels, "wide_drawing", lambda figure, **_: caught["figure"].append(figure)
    )
    monkeypatch.setattr(
        order_panels, "table", lambda _, lines, **__: caught["table"].append(lines)
    )
    monkeypatch.setattr(
        order_map.maps, "field_group", lambda told: caught["map"].append(told) or group(told)
    )
    return caught


def test_pictures_and_tables_follow_source_and_units(
    demo_store: Path, monkeypatch: pytest.MonkeyPatch, drawn: dict[str, list[Any]]
) -> None:
    app = launched(demo_store, monkeypatch, "order")
    store, source = opened(), people.table(demo_store, "sources")["source"].iloc[0]
    outlook = watering.outlook(store)
    for chosen, system in (("", "in"), (source, "in"), (source, "mm"), ("", "mm")):
        for one in drawn.values():
            one.clear()
        app.selectbox(key="queue").select(chosen)
        app.segmented_control(key="units").set_value(system).run()
        assert not app.exception
        shown = order_page.gathered(store, LIGHT, system, chosen)  # type: ignore[arg-type]
        assert drawn["figure"] == [order_panels.figure_of(shown)]
        ranked = order_page.ranked(shown.laid)
        assert drawn["table"] == [
            order_panels._lines(ranked, shown.system)[0],
            order_panels._outlook_lines(outlook, shown),
        ]
        ranks = {one for one in order_map._told(shown)["value_text"] if one}
        assert all(f'"text":"{one}"' in drawn["map"][-1] for one in ranks)
        assert f'"text":"{len(ranks) + 1}"' not in drawn["map"][-1]
    assert shown.key != replace(shown, palette=DARK).key


def test_the_map_names_the_field_that_is_selected(
    demo_store: Path, monkeypatch: pytest.MonkeyPatch, drawn: dict[str, list[Any]]
) -> None:
    named = people.table(demo_store, "fields")["name"].tolist()
    launched(demo_store, monkeypatch, "order")
    plain = drawn["map"][-1]
    late = next(one for one in reversed(named) if f'"text":"{one}"' not in plain)
    launched(demo_store, monkeypatch, "order", field=late)
    assert f'"text":"{late}"' in drawn["map"][-1]
