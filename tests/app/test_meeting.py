"""The growers' meeting: whose names are shown, and which fields are walked through."""

from pathlib import Path
from typing import Any

import pandas as pd
import pytest
from streamlit.testing.v1 import AppTest

from analytics.store import people
from dashboard.charts.palette import LIGHT
from dashboard.data.meeting import Walk
from dashboard.views.parts import meeting_told
from dashboard.views.parts.meeting_told import Room
from dashboard.words import meeting as meeting_words
from tests.app.launching import launched, said


def turned(app: AppTest, changed: Any) -> AppTest:
    changed.run()
    assert not app.exception, app.exception
    return app


def test_a_reduced_walk_stays_reduced_whoever_is_named(
    demo_store: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    app = launched(demo_store, monkeypatch, "meeting")
    walk = app.multiselect(key="meeting_walk")
    letters = list(walk.options)
    kept = letters[2:5]
    turned(app, walk.set_value(kept))
    assert "3 fields" in said(app)

    fields = people.table(demo_store, "fields")
    grower = fields["grower"].dropna().iloc[0]
    turned(app, app.text_input(key="meeting_unmask").set_value(grower))
    assert app.session_state["meeting_walk"] == kept
    options = app.multiselect(key="meeting_walk").options
    own = fields["grower"] == grower
    same = [now == before for now, before in zip(options, letters, strict=True)]
    assert same.count(False) == own.sum()
    assert set(fields.loc[own, "name"]) <= set(options)

    turned(app, app.button_group(key="names").set_value("shown"))
    assert app.session_state["meeting_walk"] == kept
    assert set(app.multiselect(key="meeting_walk").options) == set(fields["name"])


def test_a_walk_without_fields_says_so_and_offers_no_slides(
    demo_store: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    app = launched(demo_store, monkeypatch, "meeting")
    assert app.get("download_button")
    turned(app, app.multiselect(key="meeting_walk").set_value([]))
    assert meeting_words.DROPPED in said(app)
    assert not app.get("download_button")


def test_the_first_of_the_fields_shown_is_not_said_to_be_the_first_of_all() -> None:
    assert meeting_words.first_sentence("field C", "2026-03-09", elsewhere=True) == (
        "Of the fields shown, field C is watered first, from 9 Mar."
    )
    assert meeting_words.first_sentence("field A", "2026-03-03", elsewhere=False) == (
        "Water goes to field A first, from 3 Mar."
    )


def test_the_five_figures_tell_of_the_fields_that_the_opening_counts() -> None:
    rows = pd.DataFrame({
        "field": list("abcd"), "growing": [False, False, False, True],
        "change_mm": [20.0, 0.4, 12.0, -30.0], "fell_mm": [50.0, 60.0, 70.0, 200.0],
        "deep_deficit_mm": [68.0, 20.0, 121.0, 138.0],
    })  # fmt: skip
    walk = Walk(rows=rows, layers=pd.DataFrame(), order=pd.DataFrame(), unmasked=False)
    room = Room(walk=walk, palette=LIGHT, system="mm", split_cm=90.0)
    assert meeting_told.opening(room) == (
        "1 of 3 fields goes into the season more than 90 mm short below 90 cm.",
        "1 field under a standing crop is not counted.",
    )
    figures = [figure for figure, _ in meeting_told.five(room)]
    assert figures == ["60 mm", "12 mm", "68 mm", "121 mm", "1 of 3"]
