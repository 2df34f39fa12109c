"""When each layer was rooted, beside the roots of the simulated district.

True: the first day on which the roots reach below the middle of the layer. Layers that gave
the crop over 5 mm are asked for. ``pytest tests/truth -s`` prints the figures.
"""

from pathlib import Path

import numpy as np
import pandas as pd

from analytics.store import people
from demo_data.district import SITE_INDEX
from demo_data.truth import simulate

GAVE_MM = 5.0


def compared(store: Path) -> pd.DataFrame:
    """One row a site, crop and layer: the true day, the day found, and whether roots came."""
    truth = simulate()
    edges = people.table(store, "tally")[["site", "depth_cm", "top_cm", "bottom_cm"]].dropna()
    rows = people.table(store, "extraction").merge(edges.drop_duplicates(["site", "depth_cm"]))
    last = pd.Timestamp(truth.days[-1])
    true, reached = [], []
    for row in rows.to_dict("records"):
        until = last if pd.isna(row["harvested_on"]) else row["harvested_on"]
        under = (truth.days >= row["planted_on"].to_datetime64()) & (
            truth.days <= until.to_datetime64()
        )
        roots = truth.cover.roots_cm[under, SITE_INDEX[row["site"]]]
        at = np.flatnonzero(roots > (row["top_cm"] + row["bottom_cm"]) / 2)
        true.append(truth.days[under][at[0]] if len(at) else np.datetime64("NaT"))
        reached.append(bool((roots > row["top_cm"]).any()))
    late_d = (rows["rooted_on"] - pd.to_datetime(true)) / np.timedelta64(1, "D")
    return rows.assign(reached=reached, late_d=late_d)


def test_layers_that_gave_water_are_rooted_on_about_the_day_the_roots_came(
    demo_store: Path,
) -> None:
    rows = compared(demo_store)
    asked = rows[(rows["gave_mm"] > GAVE_MM) & rows["reached"]]
    found = asked["rooted_on"].notna()
    late = asked["late_d"].dropna()
    early = (late < -14).mean()
    print(f"rooted: {found.mean():.1%} of {len(asked)}; {late.median():.0f} d late, "  # noqa: T201
          f"{early:.1%} over a fortnight early")  # fmt: skip
    assert found.mean() >= 0.95
    assert late.abs().median() <= 8
    assert early <= 0.08


def test_no_layer_is_rooted_that_no_root_reached(demo_store: Path) -> None:
    rows = compared(demo_store)
    assert rows.loc[~rows["reached"], "rooted_on"].isna().all()
