"""A row that was wrong is taken out by command."""

from pathlib import Path

import pandas as pd
import pytest

from analytics.cli import main
from analytics.store import layout, people, readings
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


def test_readings_under_a_wrong_clock_are_taken_out_and_brought_anew(
    store: Path, tmp_path: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    said = "site,time,depth_cm,vwc\n"
    wrong, right = tmp_path / "wrong.csv", tmp_path / "right.csv"
    wrong.write_text(said + "".join(f"N1,2024-06-01T{h:02}:17Z,10,0.2\n" for h in range(9, 21)))
    right.write_text(said + "".join(f"N1,2024-06-01T{h:02}:00Z,10,0.2\n" for h in range(9, 21)))
    assert main(["import", str(store), str(wrong)]) == 0
    span = ["site=N1", "from=2024-06-01", "to=2024-06-01"]
    assert main(["remove", str(store), "readings", *span[:2]]) == 1
    assert "Write site=... from=... to=..." in capfd.readouterr().err
    assert main(["remove", str(store), "readings", *span]) == 0
    assert "12 instants taken out; kept in: overwinter table" in capfd.readouterr().err
    assert main(["import", str(store), str(right)]) == 0
    assert set(readings.long(store)["time"].dt.minute) == {0}
