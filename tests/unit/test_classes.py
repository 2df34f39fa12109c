"""The five classes of fill and their probabilities."""

import numpy as np
import pytest
from scipy.stats import norm

from analytics.water.classes import CLASSES, classify


@pytest.mark.parametrize(
    ("fill", "name"),
    [(-0.3, "depleted"), (0.199, "depleted"), (0.2, "low"), (0.4, "partial"),
     (0.6, "near_full"), (0.799, "near_full"), (0.8, "full"), (1.4, "full")],
)  # fmt: skip
def test_a_class_begins_at_its_lower_edge(fill, name):
    own, probability = classify(fill, 0.0)
    assert own.item() == name
    assert probability[CLASSES.index(name)] == 1.0
    assert probability.sum() == 1.0


def test_probabilities_are_those_of_the_normal_distribution():
    fill, sd = np.array([-0.1, 0.31, 0.6, 1.2]), np.array([0.05, 0.08, 0.3, 0.5])
    _, probability = classify(fill, sd)
    edges = np.array([-np.inf, 0.2, 0.4, 0.6, 0.8, np.inf])
    expected = np.diff(norm.cdf(edges, fill[:, None], sd[:, None]), axis=1)
    np.testing.assert_allclose(probability, expected, atol=1e-12)
    np.testing.assert_allclose(probability.sum(axis=1), 1.0)


def test_what_is_not_known_has_no_class():
    name, probability = classify(np.array([np.nan, 0.5]), np.array([0.1, np.nan]))
    assert name.tolist() == [None, "partial"]
    assert np.isnan(probability).all()
