"""People's words on flags: kept with author and reason, undone, and followed by the results."""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

from analytics.errors import InputRefused, NotKnown
from analytics.model import Record
from analytics.settings import Settings
from analytics.store import edits, filled, people, readings
from analytics.store.assessment import assess

DAYS = 60
SPAN: dict[str, Any] = {
    "since": datetime(2024, 6, 10, tzinfo=UTC),
    "until": datetime(2024, 6, 20, tzinfo=UTC),
}
WORDS: dict[str, Any] = {"author": "Ash", "reason": "checked in the field"}


def stuck_record() -> Record:
    """Give an hourly record whose upper sensor stands still for three weeks."""
    rng = np.random.default_rng(3)
    hours = np.arange(DAYS * 24)
    times = np.datetime64("2024-06-01T06:00", "us") + hours * np.timedelta64(1, "h")
    daily = 0.01 * np.sin(2 * np.pi * hours / 24)[:, None]
    theta = 0.25 + daily + rng.normal(0, 0.002, (len(hours), 2))
    theta[10 * 24 : 31 * 24, 0] = 0.251
    return Record(
        site="N1", times=times, depths_cm=np.array([5.08, 10.0]),
        theta=theta.round(4), temp_c=np.full(theta.shape, 15.0) + 10 * daily,
    )  # fmt: skip


def assessed(store: Path) -> pd.DataFrame:
    """Assess what is due; give the upper sensor's days."""
    with ThreadPoolExecutor(1) as pool:
        report = assess(store, date(2024, 7, 30), pool)
    assert report.failed == {}
    daily = people.table(store, "daily")
    return daily[daily["depth_cm"] == 5.08].set_index("date")


def test_a_dismissed_stuck_span_is_believed_again(store: Path) -> None:
    readings.merge(store, stuck_record())
    day = pd.Timestamp("2024-06-20")
    before = assessed(store)
    assert pd.isna(before["state"].get(day)), "nothing stuck enters a number"
    flags = people.table(store, "flags")
    stuck = flags[(flags["flag"] == "stuck") & (flags["depth_cm"] == 5.08)].iloc[0]
    span = {"since": stuck["from"].to_pydatetime(), "until": stuck["to"].to_pydatetime()}
    (number,) = edits.make(
        store, "N1", depths_cm=[5.08], flag="stuck", action="dismiss", **span, **WORDS
    )
    assert assessed(store)["state"].loc[day] == pytest.approx(0.251)
    assert "stuck" not in set(people.table(store, "flags")["flag"])
    edits.undo(store, number, "Ash")
    assert pd.isna(assessed(store)["state"].get(day))


def test_an_added_span_takes_days_out_of_every_sensor(store: Path) -> None:
    readings.merge(store, stuck_record())
    edits.make(store, "N1", flag="range", action="add", **SPAN, **WORDS)
    daily = assessed(store)
    flags = people.table(store, "flags").query("flag == 'range'")
    assert set(flags["depth_cm"]) == {5.08, 10.0}
    assert pd.isna(daily["state"].get(pd.Timestamp("2024-06-15")))


def test_every_edit_is_kept(store: Path) -> None:
    (first,) = edits.make(
        store, "N1", depths_cm=[10.0], flag="stuck", action="confirm", **SPAN, **WORDS
    )
    (second,) = edits.make(store, "N1", flag="spike", action="add", **SPAN, **WORDS)
    assert edits.undo(store, first, "Elm") == "N1"
    told = edits.history(store, "N1")
    assert told["id"].tolist() == [second, first]
    assert told["author"].tolist() == ["Ash", "Ash"]
    assert told["undone_by"].isna().tolist() == [True, False]
    assert told["undone_by"].iloc[1] == "Elm"
    assert pd.isna(told["depth_cm"].iloc[0])
    assert told["from"].iloc[0] == pd.Timestamp("2024-06-10", tz="UTC")
    assert edits.history(store, "../S 1").empty
    with pytest.raises(NotKnown, match="no edit 1 that still holds"):
        edits.undo(store, first, "Elm")
    assert len(people.table(store, "flag_edits")) == 2


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"author": "  "}, "no author"),
        ({"reason": ""}, "no reason"),
        ({"flag": "odd"}, "no flag 'odd'"),
        ({"action": "erase"}, "nothing that can be done"),
        ({"until": datetime(2024, 6, 1, tzinfo=UTC)}, "before it begins"),
        ({"since": datetime(2024, 6, 1)}, "no offset"),  # noqa: DTZ001 - refused
    ],
)
def test_what_cannot_be_taken_is_refused(store: Path, wrong: dict, said: str) -> None:
    good: dict[str, Any] = {"flag": "stuck", "action": "dismiss", **SPAN, **WORDS}
    with pytest.raises(InputRefused, match=said):
        edits.make(store, "N1", **(good | wrong))
    assert edits.history(store, "N1").empty


def test_unknown_site_and_nameless_undoing(store: Path) -> None:
    with pytest.raises(NotKnown, match="no site 'X'"):
        edits.make(store, "X", flag="stuck", action="add", **SPAN, **WORDS)
    (number,) = edits.make(store, "N1", flag="stuck", action="add", **SPAN, **WORDS)
    with pytest.raises(InputRefused, match="nobody is named"):
        edits.undo(store, number, " ")


def part(record: Record, rows: slice) -> Record:
    return Record(
        site=record.site, times=record.times[rows], depths_cm=record.depths_cm,
        theta=record.theta[rows], temp_c=record.temp_c[rows],
    )  # fmt: skip


def test_gaps_that_a_late_file_fills(store: Path, record: Callable[..., Record]) -> None:
    whole = record(hours=100)
    settings = Settings()
    assert filled.found(store, whole, None, settings) == [], "nothing was there to have a gap"
    readings.merge(store, part(whole, slice(0, 30)))
    readings.merge(store, part(whole, slice(50, 90)))
    newest = readings.newest(store, whole.site)
    late = filled.found(store, part(whole, slice(25, 52)), newest, settings)
    assert [(one.depth_cm, one.readings) for one in late] == [(5.08, 20), (10.0, 20)]
    assert late[0].since == whole.times[29]
    assert late[0].until == whole.times[50]
    assert filled.found(store, part(whole, slice(90, 100)), newest, settings) == []
    assert filled.found(store, part(whole, slice(0, 20)), newest, settings) == []
