"""Rows parted by a column's words."""

import pandas as pd
from hypothesis import given
from hypothesis import strategies as st

from analytics.store.frames import columns_by


@given(st.lists(st.tuples(st.sampled_from(["b", "a", "c"]), st.integers(0, 9)), max_size=30))
def test_columns_are_parted_as_rows_are_grouped_in_their_order(rows) -> None:
    frame = pd.DataFrame(rows, columns=["site", "mm"])
    want = {word: some["mm"].tolist() for word, some in frame.groupby("site")}
    parts = columns_by(frame, "site", ["mm"])
    assert {word: some["mm"].tolist() for word, some in parts.items()} == want
