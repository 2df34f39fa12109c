"""A few spoiled files of each kind; ``fuzz.py`` does as many as one likes."""

import pytest

from tests.faults.fuzz import SEEDS, many

SPOILED = 40


@pytest.mark.filterwarnings("ignore")  # what a library thinks of a spoiled file
@pytest.mark.parametrize("name", SEEDS)
def test_a_spoiled_file_is_refused_with_a_sentence_or_counted_whole(name: str) -> None:
    _, ended, faults = many(name, 0, SPOILED)
    assert faults == []
    assert sum(ended.values()) == SPOILED


ONCE_WRONG = {
    "zip": (1578, 6022, 33390, 35011),
    "Parquet": (1941, 2331, 5909, 7371, 31009, 37272, 123288),
    "Excel": (10079, 14823, 20958),
}
"""Seeds of files that once ended in another error than a sentence."""


@pytest.mark.filterwarnings("ignore")
@pytest.mark.parametrize(
    ("name", "seed"), [(name, seed) for name, seeds in ONCE_WRONG.items() for seed in seeds]
)
def test_what_once_was_no_sentence_is_one(name: str, seed: int) -> None:
    assert many(name, seed, 1)[2] == []
