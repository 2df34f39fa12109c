"""Quantiles and noise of several sensors at once are those of each sensor alone."""

import hypothesis.extra.numpy as arrays
import hypothesis.strategies as st
import numpy as np
from hypothesis import example, given

from analytics.model import Season
from analytics.soil.emptying import emptied_by
from analytics.soil.series import MAD_TO_SD, bend_noise, quantiles, step_noise

THETA = st.one_of(st.floats(0.0, 0.6), st.just(np.nan))
DAYS = arrays.arrays(float, st.tuples(st.integers(0, 12), st.integers(1, 4)), elements=THETA)
SHARES = st.lists(st.floats(0.0, 1.0), min_size=2, max_size=4)


@given(DAYS, SHARES)
def test_quantiles_are_those_of_each_sensors_known_values(values, shares):
    found = quantiles(values, *shares)
    assert found.shape == (len(shares), values.shape[1])
    for column, told in zip(values.T, found.T, strict=True):
        known = column[np.isfinite(column)]
        if len(known):
            np.testing.assert_allclose(told, np.quantile(known, shares), rtol=0, atol=1e-12)
        else:
            assert np.isnan(told).all()


@given(DAYS)
def test_noise_is_the_median_deviation_of_each_sensors_steps(values):
    for found, order, share in ((step_noise(values), 1, 1.0), (bend_noise(values), 2, 3**0.5)):
        for told, column in zip(found, np.diff(values, n=order, axis=0).T, strict=True):
            known = column[np.isfinite(column)]
            away = np.abs(known - np.median(known)) if len(known) else np.zeros(1)
            np.testing.assert_allclose(told, MAD_TO_SD * np.median(away) / share, atol=1e-12)


@given(
    arrays.arrays(float, (40, 3), elements=st.floats(0.0, 200.0)),
    st.lists(st.tuples(st.integers(-5, 45), st.integers(1, 30)), max_size=5),
    arrays.arrays(np.int64, 3, elements=st.integers(-1, 39)),
    arrays.arrays(np.int64, 3, elements=st.integers(0, 39)),
    st.integers(0, 39),
)
@example(  # what stood in another hole is no crop's doing
    np.repeat(np.where(np.arange(40) < 20, 150.0, 50.0)[:, None], 3, axis=1),
    [(10, 25)], np.full(3, -1), np.full(3, 39), 20,
)  # fmt: skip
def test_the_crop_that_took_most_emptied_each_soil(water, grown, since, until, moved):
    zero = np.datetime64("2024-03-01", "D")
    seasons = tuple(
        Season(field="f", crop=f"crop {at}", planted_on=(zero + first).item(),
               harvested_on=(zero + first + length).item())
        for at, (first, length) in enumerate(grown)
    )  # fmt: skip
    placement = np.where(np.arange(40) < moved, 1, 2).astype(np.int16)
    told = emptied_by(water, placement, zero, since=since, until=until, seasons=seasons,
                      least_mm=np.full(3, 5.0))  # fmt: skip
    for soil, found in enumerate(told):
        last = until[soil]
        opened = moved if last >= moved else 0
        falls = []
        for first, length in grown:
            begun, ended = max(first, since[soil], opened), min(first + length, last)
            falls.append(water[begun, soil] - water[ended, soil] if begun < ended else -np.inf)
        if max(falls, default=0.0) <= 5.0:
            assert found is None
        else:
            assert found == seasons[int(np.argmax(falls))]
