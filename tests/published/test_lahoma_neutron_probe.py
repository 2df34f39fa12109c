"""Neutron probe under wheat at Lahoma, Oklahoma: layer changes between two dates.

Patrignani et al. 2012, Soil Sci. Soc. Am. J. 76:1768-1775; data as used in
soilwater/pynotes-agriscience, exercises/soil_water_storage.ipynb. Ten layers of 20 cm,
depths 10, 30 ... 190 cm. Numbers are quoted; the file (CC BY-NC-SA) is not carried here.
"""

from datetime import date

import numpy as np
import pandas as pd
import pytest

from analytics.model import Daily, Layer, OffSeason, Points
from analytics.settings import Settings
from analytics.soil.offseason import tally

THICK_MM = 200.0
# mm, layer by layer, worked from the published record (20 cm each)
WINTERS = {
    (date(2010, 10, 25), date(2011, 3, 9)): (
        (-3.0, -8.8, -3.4, -3.0, -4.8, -4.4, -3.4, -2.2, -2.0, -0.8), -35.8,
    ),  # a winter loss under growing wheat
    (date(2009, 11, 4), date(2010, 3, 17)): (
        (5.8, -0.8, -0.6, -0.4, -1.6, -3.0, -3.4, -1.2, -1.4, -1.4), -8.0,
    ),
    (date(2009, 9, 19), date(2009, 10, 17)): (
        (15.0, 2.0, 2.8, 1.4, 2.6, 2.2, 1.4, 0.4, -0.8, 0.0), 27.0,
    ),  # a wetting front
}  # fmt: skip


@pytest.mark.parametrize("span", WINTERS)
def test_the_tally_of_two_dates_gives_the_published_layer_changes(span):
    start, end = span
    changes, total = WINTERS[span]
    days = np.arange(np.datetime64(start), np.datetime64(end) + 1)
    state = np.full((len(days), 10), np.nan)
    state[0] = 0.25  # the changes are published; any start gives them
    state[-1] = 0.25 + np.array(changes) / THICK_MM
    blank, none = np.zeros(state.shape, bool), np.ones(10)
    record = Daily(
        site="Lahoma", days=days, depths_cm=np.arange(10.0, 200.0, 20.0), first=state,
        last=state, low=state, high=state, mean=state, predawn=state, state=state,
        temp_c=state * np.nan, good=np.isfinite(state).astype(np.int32), frozen=blank,
        held=blank, placement=np.ones(len(days), np.int16),
    )  # fmt: skip
    soil = tuple(
        Layer(site="Lahoma", depth_cm=depth, top_cm=depth - 10, bottom_cm=depth + 10)
        for depth in record.depths_cm
    )
    own = Points(
        placement=1, full=0.3 * none, refill=0.2 * none, lower=0.1 * none, full_sd=0.01 * none,
        lower_sd=0.01 * none, state=("texture",) * 10, lower_state=("texture",) * 10,
        ponded=blank[0],
    )  # fmt: skip
    off = OffSeason(
        field="Lahoma", start=start, end=end, crop_before="wheat", crop_next=None, open=False
    )
    events = pd.DataFrame({"start": [], "end": [], "cause": []})
    answers = pd.DataFrame({"start": [], "depth_cm": [], "stored_mm": []})
    table = tally(
        record, soil, (off,), {1: own}, events, answers, pd.DataFrame({"date": [], "mm": []}),
        Settings(),
    )  # fmt: skip
    np.testing.assert_allclose(table["change_mm"][:10], changes, atol=1e-9)
    assert table["change_mm"].iloc[-1] == pytest.approx(total, abs=1e-9)
    assert table["coverage"].iloc[-1] == pytest.approx(2 / len(days))
