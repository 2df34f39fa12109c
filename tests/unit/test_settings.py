"""Thresholds: each told once, with its meaning and source."""

from collections import Counter

from analytics.settings import Settings, known


def test_no_two_rooms_give_a_threshold_the_same_name() -> None:
    # the last room would win without a word
    own = Counter(
        name for room in Settings.__mro__ for name in vars(room).get("__annotations__", {})
    )
    assert [name for name, count in own.items() if count > 1] == []
    assert set(own) == {one.name for one in known()}


def test_each_threshold_says_what_it_means_and_whence_it_comes() -> None:
    for one in known():
        assert one.metadata["unit"]
        assert one.metadata["meaning"]
        assert one.metadata["source"]
