"""A row that was wrong is taken out by command."""

from pathlib import Path

import pandas as pd
import pytest

from analytics.cli import main
from analytics.store import layout, people
from tests.store.conftest import frames


@pytest.fixture
def store(tmp_path: Path) -> Path:
    farm = tmp_path / "farm"
    layout.create(farm)
    for name, frame in frames().items():
        people.put(farm, name, frame)
    return farm


def test_a_planting_under_a_wrong_date_is_put_right(
    store: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    right = (
        people.table(store, "seasons").iloc[[1]].assign(planted_on=pd.Timestamp("2024-10-02"))
    )
    people.put(store, "seasons", right)
    main(["check", str(store)])
    assert "overwinter remove STORE seasons field=... planted_on=..." in capfd.readouterr().out
    wrong = ["field=north", "planted_on=2024-09-20"]
    assert main(["remove", str(store), "seasons", *wrong]) == 0
    told = capfd.readouterr()
    assert "wheat" in told.out
    assert f"Next: overwinter assess {store}" in told.out
    assert f"1 row taken out of seasons; kept in: overwinter table {store} removed" in told.err
    main(["check", str(store)])
    assert "Field north." not in capfd.readouterr().out
    assert main(["table", str(store), "removed"]) == 0
    assert '"planted_on":"2024-09-20' in capfd.readouterr().out


def test_words_without_a_value_are_refused(
    store: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    assert main(["remove", str(store), "seasons", "north"]) == 1
    assert "Write COLUMN=VALUE." in capfd.readouterr().err
    assert len(people.table(store, "seasons")) == 2
