"""Laws of intake: no row vanishes, and how a record is cut into files does not matter."""

import tempfile
from pathlib import Path

import numpy as np
import pandas as pd
from hypothesis import given, settings
from hypothesis import strategies as st

from analytics.errors import InputRefused
from analytics.intake import Known, read
from analytics.model import Delivery

KNOWN = Known(sites={"p1": "America/Chicago", "p2": "America/Denver"})
CELLS = st.sampled_from(["0.2", "0.31", "", "NaN", "wet", "inf", "-99"])
TIMES = st.sampled_from(
    [
        "2024-03-10T02:30",
        "2024-11-03T01:30",
        "2024-01-01",
        "2024-01-01T06:00Z",
        "2024-02-30",
        "",
    ]
)
SITES = st.sampled_from(["p1", "p2", "p9", ""])
LONG_ROWS = st.lists(st.tuples(SITES, TIMES, st.sampled_from(["10", "20", "x", ""]), CELLS))
WIDE_ROWS = st.lists(st.tuples(SITES, TIMES, CELLS, CELLS))


def brought(header: str, rows: list[tuple[str, ...]]) -> Delivery | None:
    """Read the rows between two good ones; the file is never wholly bad."""
    text = header + "".join(",".join(row) + "\n" for row in rows)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "r.csv"
        path.write_text(text)
        try:
            return read(path, KNOWN)
        except InputRefused:
            return None


def long_cells(delivery: Delivery) -> dict[tuple[str, str, float], float]:
    return {
        (record.site, str(time), float(depth)): float(record.theta[i, j])
        for record in delivery.readings
        for i, time in enumerate(record.times)
        for j, depth in enumerate(record.depths_cm)
        if np.isfinite(record.theta[i, j])
    }


@settings(max_examples=40)
@given(WIDE_ROWS)
def test_wide_rows_are_taken_repeated_or_rejected(rows: list[tuple[str, ...]]) -> None:
    header = "site,time,vwc 10 cm [m3/m3],vwc 20 cm [m3/m3]\n"
    rows = [("p1", "2023-01-01", "0.2", "0.2"), *rows]
    delivery = brought(header, rows)
    assert delivery is not None
    filled = [row for row in rows if any(row)]  # a row of commas only is no row
    taken = sum(len(record.times) for record in delivery.readings)
    assert delivery.rows_in == len(filled)
    assert delivery.rows_in == taken + delivery.rows_repeated + len(delivery.rejects)
    for record in delivery.readings:
        assert (np.diff(record.times) > np.timedelta64(0)).all()
        assert (np.diff(record.depths_cm) > 0).all()


@settings(max_examples=40)
@given(LONG_ROWS)
def test_long_rows_are_taken_repeated_or_rejected(rows: list[tuple[str, ...]]) -> None:
    rows = [("p1", "2023-01-01", "10", "0.2"), *rows]
    # Numbering every value makes each taken row visible in the record.
    rows = [
        (
            site,
            time,
            depth,
            f"0.{i + 1000}" if cell in ("0.2", "0.31", "", "NaN", "-99") else cell,
        )
        for i, (site, time, depth, cell) in enumerate(rows)
    ]
    delivery = brought("site,time,depth_cm,vwc\n", rows)
    assert delivery is not None
    taken = len(long_cells(delivery))
    assert delivery.rows_in == len(rows)
    assert delivery.rows_in == taken + delivery.rows_repeated + len(delivery.rejects)
    assert set(delivery.rejects["line"]) <= set(range(2, len(rows) + 2))
    assert delivery.rejects["line"].is_unique


@settings(max_examples=25)
@given(st.integers(1, 59), st.booleans(), st.randoms(use_true_random=False))
def test_a_record_cut_in_two_gives_the_same_readings(
    cut: int, wide: bool, luck: object
) -> None:
    times = pd.date_range("2024-11-02", periods=30, freq="h", tz="America/Chicago")
    if wide:
        header = "site,time,vwc 10 cm [m3/m3]\n"
        rows = [
            (site, t.isoformat(), f"0.{i + 100}")
            for i, t in enumerate(times)
            for site in KNOWN.sites
        ]
    else:
        header = "site,time,depth_cm,vwc\n"
        rows = [
            ("p1", t.isoformat(), d, f"0.{i + 100}")
            for i, t in enumerate(times)
            for d in ("10", "20")
        ]
    luck.shuffle(rows)  # type: ignore[attr-defined]
    whole, first, second = (brought(header, part) for part in (rows, rows[:cut], rows[cut:]))
    assert whole is not None
    assert first is not None
    assert second is not None
    assert long_cells(first) | long_cells(second) == long_cells(whole)
    assert first.rows_in + second.rows_in == whole.rows_in


def test_lines_of_commas_are_no_rows() -> None:
    delivery = brought("site,time,vwc 10 cm [%]\n", [("p1", "2024-01-01", "20"), ("", "", "")])
    assert delivery is not None
    assert delivery.rows_in == 1
    assert delivery.rejects.empty


def test_a_bad_row_costs_no_other_row() -> None:
    rows = [("p1", f"2024-01-{day:02d}", "10", "0.2") for day in range(1, 21)]
    clean = brought("site,time,depth_cm,vwc\n", rows)
    spoilt = brought(
        "site,time,depth_cm,vwc\n", [*rows[:7], ("p1", "2024-01-08", "10", "?"), *rows[7:]]
    )
    assert clean is not None
    assert spoilt is not None
    assert long_cells(clean) == long_cells(spoilt)
    assert spoilt.rejects["line"].tolist() == [9]
