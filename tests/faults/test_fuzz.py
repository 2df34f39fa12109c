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
