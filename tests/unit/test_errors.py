"""What errors and notes are made of."""

import pytest

from analytics.errors import some_of


@pytest.mark.parametrize(("names", "told"), [
    ([], ""), (["a"], "a"), (["a", "b"], "a, b"), (["a", "b", "c", "d"], "a, b and 2 more"),
])  # fmt: skip
def test_the_first_few_are_named_and_the_rest_counted(names: list[str], told: str) -> None:
    assert some_of(names, 2) == told
