"""What ``check`` calls missing: a crop left standing, not one that a plan will follow."""

from pathlib import Path

import pandas as pd
import pytest

from analytics.store import people
from analytics.store.check import check


@pytest.mark.parametrize(("planted", "told"), [("2024-10-30", True), ("2999-05-01", False)])
def test_a_crop_without_harvest_is_missed_once_another_stands(
    store: Path, planted: str, *, told: bool
) -> None:
    later = pd.DataFrame(
        {"field": "north", "crop": ["cotton"], "planted_on": pd.Timestamp(planted),
         "harvested_on": pd.NaT, "emerged_on": pd.NaT, "matured_on": pd.NaT}
    )  # fmt: skip
    people.put(store, "seasons", later)
    words = " ".join(one.what for one in check(store))
    assert ("north, wheat planted 2024-09-20: no harvest date" in words) is told
