"""Wall clock to UTC: both odd hours of the year, both hemispheres, noon for bare days.

Clock changes checked here: United States 2024-03-10 and 2024-11-03 at 02:00 (Energy Policy Act
of 2005, sec. 110); New South Wales 2024-04-07 at 03:00 (Standard Time Act 1987).
"""

from datetime import UTC, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd
import pyarrow as pa
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analytics.intake import Known, read
from analytics.intake.stamps import Stamps, placed, read_stamps
from analytics.intake.zones import to_utc, to_wall
from analytics.model import Delivery

HEAD = "site,time,depth_cm,vwc\n"


def brought(folder: Path, times: list[str], zone: str = "America/Chicago") -> Delivery:
    path = folder / "r.csv"
    rows = [f"p1,{one},30,{0.2 + i / 1000:.3f}\n" for i, one in enumerate(times)]
    path.write_text(HEAD + "".join(rows))
    return read(path, Known(sites={"p1": zone}))


def instants(delivery: Delivery) -> list[str]:
    return [str(one)[11:16] for one in delivery.readings[0].times]


def test_autumn_hour_is_told_apart_by_file_order(tmp_path: Path) -> None:
    walls = ["00:30", "01:00", "01:30", "01:00", "01:30", "02:00"]
    delivery = brought(tmp_path, [f"2024-11-03 {one}" for one in walls])
    # summer time is UTC-5, standard time UTC-6
    assert instants(delivery) == ["05:30", "06:00", "06:30", "07:00", "07:30", "08:00"]
    assert delivery.rows_repeated == 0
    assert delivery.notes[0].startswith("4 rows fall in the hour that the clock shows twice")


def test_one_row_of_the_autumn_hour_is_told_as_one(tmp_path: Path) -> None:
    walls = ["00:00", "01:00", "02:00", "03:00"]
    delivery = brought(tmp_path, [f"2024-11-03 {one}" for one in walls])
    said = "1 row falls in the hour that the clock shows twice in autumn; it was told apart by "
    assert delivery.notes[0] == said + "its order in the file."


@pytest.mark.parametrize(
    ("walls", "utc"),
    [
        (["00:00", "01:00"], ["05:00", "06:00"]),
        (["01:00", "02:00", "03:00"], ["07:00", "08:00", "09:00"]),
        (["01:30", "02:00", "02:30"], ["07:30", "08:00", "08:30"]),
        (["03:00", "02:00", "01:00"], ["07:00", "08:00", "09:00"]),
        (["00:00", "01:00", "03:00", "05:00"], ["05:00", "07:00", "09:00", "11:00"]),
        (["01:45", "01:00", "01:15", "01:30"], ["06:45", "07:00", "07:15", "07:30"]),
        (["01:30", "01:00"], ["06:30", "07:00"]),
    ],
)
def test_a_file_cut_within_the_autumn_hour_keeps_its_instants(
    tmp_path: Path, walls: list[str], utc: list[str]
) -> None:
    """Of a file that shows the hour once, the step before and behind tells which pass it is."""
    delivery = brought(tmp_path, [f"2024-11-03 {one}" for one in walls])
    assert instants(delivery) == utc


@pytest.mark.parametrize(
    ("zone", "day", "walls", "utc"),
    [  # the end of summer time in Europe (Directive 2000/84/EC), and Lord Howe's half hour
        ("Europe/Madrid", "2024-10-27", ["02:00", "03:00", "04:00"],
         ["01:00", "02:00", "03:00"]),
        ("Australia/Lord_Howe", "2024-04-07", ["01:30", "02:00", "02:30"],
         ["15:00", "15:30", "16:00"]),
    ],
)  # fmt: skip
def test_the_second_pass_is_known_wherever_clocks_are_set_back(
    tmp_path: Path, zone: str, day: str, walls: list[str], utc: list[str]
) -> None:
    assert instants(brought(tmp_path, [f"{day} {one}" for one in walls], zone)) == utc


@pytest.mark.parametrize("step", [15, 30, 60])
@pytest.mark.parametrize("newest_first", [False, True])
def test_a_wall_clock_record_cut_anywhere_keeps_its_instants(
    step: int, newest_first: bool
) -> None:
    utc = np.arange(
        "2024-11-03T02:00", "2024-11-03T12:00", np.timedelta64(step, "m"),
        dtype="datetime64[us]",
    )  # fmt: skip
    wall = to_wall(utc, "America/Chicago")
    for cut in range(1, len(utc)):
        for part in (slice(None, cut), slice(cut, None)):
            moment, right = wall[part], utc[part]
            if newest_first:
                moment, right = moment[::-1], right[::-1]
            none = np.zeros(len(moment), bool)
            stamps = Stamps(moment=moment, fixed=none, blank=none, bad=none)
            rows, track = np.arange(len(moment)), np.zeros(len(moment), np.int64)
            np.testing.assert_array_equal(
                placed(stamps, "America/Chicago", rows, track)[0], right
            )


def test_an_hour_that_is_shown_once_without_a_gap_hints_at_standard_time(
    tmp_path: Path,
) -> None:
    walls = ["00:00", "01:00", "02:00"]
    delivery = brought(tmp_path, [f"2024-11-03 {one}" for one in walls])
    assert instants(delivery) == ["05:00", "06:00", "08:00"]
    assert delivery.notes[-1].startswith("Rows pass once, without a gap")
    twice = brought(tmp_path, [f"2024-11-03 {one}" for one in ["00:00", "01:00", *walls[1:]]])
    assert not any(one.startswith("Rows pass once") for one in twice.notes)


def test_a_newest_first_file_is_told_apart_from_its_end(tmp_path: Path) -> None:
    walls = ["02:00", "01:30", "01:00", "01:30", "01:00", "00:30"]
    delivery = brought(tmp_path, [f"2024-11-03 {one}" for one in walls])
    assert instants(delivery) == ["05:30", "06:00", "06:30", "07:00", "07:30", "08:00"]
    np.testing.assert_allclose(delivery.readings[0].theta[:, 0], np.arange(205, 199, -1) / 1000)


def test_each_sensor_of_a_long_file_is_followed_by_itself(tmp_path: Path) -> None:
    path = tmp_path / "r.csv"
    rows = [f"p1,2024-11-03T01:00:00,{d},0.{i}{d}\n" for i in (1, 2) for d in (10, 20)]
    path.write_text(HEAD + "".join(rows))
    record = read(path, Known(sites={"p1": "America/Chicago"})).readings[0]
    assert [str(one)[11:16] for one in record.times] == ["06:00", "07:00"]
    np.testing.assert_allclose(record.theta, [[0.110, 0.120], [0.210, 0.220]])


def test_spring_hour_never_was(tmp_path: Path) -> None:
    walls = ["01:30", "02:00", "02:30", "03:00"]
    delivery = brought(tmp_path, [f"2024-03-10T{one}" for one in walls])
    assert instants(delivery) == ["07:30", "08:00"]
    assert list(delivery.rejects["line"]) == [3, 4]
    assert set(delivery.rejects["reason"]) == {"the clock skipped this hour in spring"}
    assert delivery.rejects["value"].iloc[0] == "2024-03-10T02:00"


def test_southern_autumn(tmp_path: Path) -> None:
    walls = ["01:30", "02:30", "02:30", "03:30"]
    delivery = brought(tmp_path, [f"2024-04-07 {one}" for one in walls], "Australia/Sydney")
    # +11 before, +10 after: 14:30, 15:30, 16:30, 17:30 of the day before
    assert instants(delivery) == ["14:30", "15:30", "16:30", "17:30"]


def test_offsets_are_honoured_and_days_stand_at_noon(tmp_path: Path) -> None:
    times = ["2024-11-03T01:30:00-06:00", "2024-11-03T06:30:00Z", "2024-11-05", "2024-07-01"]
    delivery = brought(tmp_path, times)
    assert [str(one)[:16] for one in delivery.readings[0].times] == [
        "2024-07-01T17:00",
        "2024-11-03T06:30",
        "2024-11-03T07:30",
        "2024-11-05T18:00",
    ]
    assert delivery.notes == ()


@pytest.mark.parametrize(
    "bad", ["2024-02-30", "2024-13-01T00:00", "noon", "2024", "1970-01-01"]
)
def test_what_is_no_time_is_put_aside(tmp_path: Path, bad: str) -> None:
    delivery = brought(tmp_path, ["2024-03-01T00:00Z", bad, ""])
    assert list(delivery.rejects["line"]) == [3, 4]
    assert list(delivery.rejects["value"]) == [bad, ""]
    assert delivery.rows_in == 3


@pytest.mark.parametrize("zoned", [True, False])
def test_parquet_times(tmp_path: Path, zoned: bool) -> None:
    times = pd.to_datetime(["2024-07-01 06:00", "2024-12-01 06:00"])
    if zoned:
        times = times.tz_localize("America/Denver")
    frame = pd.DataFrame({"site": "p1", "time": times, "depth_cm": 30, "vwc": 0.2})
    frame.to_parquet(tmp_path / "r.parquet")
    delivery = read(tmp_path / "r.parquet", Known(sites={"p1": "America/Chicago"}))
    # Denver is UTC-6 in summer and -7 in winter, Chicago one hour less
    assert instants(delivery) == (["12:00", "13:00"] if zoned else ["11:00", "12:00"])


@given(
    st.datetimes(datetime(1985, 1, 1), datetime(2035, 1, 1)),  # noqa: DTZ001 - UTC, naive
    st.sampled_from(["America/Chicago", "Australia/Lord_Howe", "Asia/Kolkata", "UTC"]),
)
def test_there_and_back_agrees_with_zoneinfo(moment: datetime, zone: str) -> None:
    utc = np.array([moment], dtype="datetime64[us]")
    wall = to_wall(utc, zone)
    told = moment.replace(tzinfo=UTC).astimezone(ZoneInfo(zone)).replace(tzinfo=None)
    assert wall[0] == np.datetime64(told, "us")
    back = to_utc(wall, zone)
    assert not back.never[0]
    assert utc[0] in (back.first[0], back.second[0])


OFFSETS = st.sampled_from(["", "Z", " Z", "+00:00", "-06:00", "+0530", "-03"])
FORMS = st.sampled_from(["%Y-%m-%d", "%Y-%m-%dT%H:%M", "%Y-%m-%d %H:%M:%S",
                         "%Y-%m-%dT%H:%M:%S.%f", "%Y-%m-%dT%H:%M:%S.%f000"])  # fmt: skip
MOMENTS = st.datetimes(datetime(1985, 1, 1), datetime(2090, 1, 1))  # noqa: DTZ001 - as written


@given(st.lists(st.tuples(MOMENTS, FORMS), min_size=1, max_size=5), OFFSETS)
def test_iso_words_are_read_alike_together_and_one_by_one(
    told: list[tuple[datetime, str]], offset: str
) -> None:
    """Words that an Arrow cast reads at once, beside pandas' own reading of each."""
    words = [moment.strftime(form) + (offset if "H" in form else "") for moment, form in told]
    stamps = read_stamps(pa.chunked_array([words], pa.string()), None)
    for word, moment, fixed in zip(words, stamps.moment, stamps.fixed, strict=True):
        known = pd.Timestamp(word)
        expected = known if known.tzinfo is None else known.tz_convert("UTC").tz_localize(None)
        noon = pd.Timedelta(hours=12 if len(word) == len("2024-01-01") else 0)
        assert pd.Timestamp(moment) == (expected + noon).floor("us")
        assert bool(fixed) == (known.tzinfo is not None)
