"""A store's thresholds by command: listed with their source, set, and set back."""

from pathlib import Path

import pytest

from analytics.cli import main
from analytics.settings import known
from analytics.store import layout, preferences


@pytest.fixture
def store(tmp_path: Path) -> Path:
    layout.create(tmp_path / "farm")
    return tmp_path / "farm"


def test_every_threshold_is_listed_with_its_source(
    store: Path, capfdbinary: pytest.CaptureFixture[bytes]
) -> None:
    preferences.save(store, "allocation_month", 7)
    assert main(["set", str(store)]) == 0
    lines = capfdbinary.readouterr().out.decode().splitlines()
    assert [line.split()[0] for line in lines[1:]] == [one.name for one in known()]
    (own,) = (line.split() for line in lines if line.startswith("allocation_month"))
    assert own[:4] == ["allocation_month", "7", "1", "month"]


def test_what_is_set_holds_until_it_is_set_back(
    store: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["set", str(store), "allocation_month=7", "units=mm", "frozen_c=-0.5"]) == 0
    told = preferences.thresholds(store)
    assert (told.allocation_month, told.frozen_c) == (7.0, -0.5)
    assert preferences.units(store) == "mm"
    assert "allocation_month: 7." in capsys.readouterr().out
    assert main(["set", str(store), "allocation_month=", "units="]) == 0
    assert preferences.thresholds(store).allocation_month == 1.0
    assert preferences.thresholds(store).frozen_c == -0.5
    assert preferences.units(store) == "in"


@pytest.mark.parametrize(("word", "told"), [
    ("allocation_mont=7", "Near it: allocation_month"), ("nothing_like_it=1", "not exist"),
    ("allocation_month=13", "1 to 12"), ("allocation_month=6.5", "1 to 12"),
    ("wet_fill=-1", "below nought"), ("wet_fill=abc", "a plain number"),
    ("wet_fill=nan", "no number"), ("wetting_mm=inf", "a number in mm"),
    ("units=feet", "Choose in or mm"), ("wet_fill", "NAME=VALUE"), ("=3", "not exist"),
])  # fmt: skip
def test_what_cannot_be_set_is_refused_with_all_that_stands_beside_it(
    store: Path, capsys: pytest.CaptureFixture[str], word: str, told: str
) -> None:
    assert main(["set", str(store), "dry_fill=0.3", word]) == 1
    assert told in capsys.readouterr().err
    assert preferences.own(store) == {"units": "in"}
