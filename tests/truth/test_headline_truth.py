"""*Wet on top, dry beneath* beside the district's true water: it fires where it should.

True: the upper three feet hold over 0.6 of what they can give a crop, and a deeper layer under
0.5. ``pytest tests/truth -s`` prints the counts.
"""

import json
from pathlib import Path

import numpy as np

from analytics.store import people
from analytics.store.statements import query
from demo_data.district import SITE_INDEX
from demo_data.truth import Truth, layer_truth, simulate, zone_fill

SPLIT_CM, WET, DRY = 90.0, 0.6, 0.5


def truly(truth: Truth) -> set[str]:
    upper = zone_fill(truth, 0, SPLIT_CM)
    found = set()
    for site, index in SITE_INDEX.items():
        layers = layer_truth(truth, site)
        fill = (layers.water_mm[-1] - layers.wilt_mm) / (layers.full_mm - layers.wilt_mm)
        deep = (layers.tops_cm + layers.bottoms_cm) / 2 > SPLIT_CM
        if upper[index] > WET and fill[deep].min() < DRY:
            found.add(site)
    return found


def told(store: Path) -> set[str]:
    rows = people.table(store, "readiness")
    day = np.datetime64(query(store, "show_about").iloc[0]["as_of"], "us")
    last = rows[(rows["zone"] == "profile") & (rows["date"] == day)]
    return {
        str(site) for site, lines in zip(last["site"], last["headlines"], strict=True)
        if any(one["code"] == "wet_on_top_dry_beneath" for one in json.loads(lines or "[]"))
    }  # fmt: skip


def test_it_fires_where_water_lies_over_a_dry_layer_and_hardly_elsewhere(
    demo_store: Path,
) -> None:
    wanted, found = truly(simulate()), told(demo_store)
    right = len(wanted & found)
    print(f"wet on top, dry beneath: {right} right, {len(found - wanted)} too many, "  # noqa: T201
          f"{len(wanted - found)} missed")  # fmt: skip
    assert right / len(found) >= 0.9
    assert right / len(wanted) >= 0.8
