"""The guide tells the truth about quantities, proving tests and the program's commands."""

import re
from pathlib import Path

import pytest

from analytics.cli import main
from analytics.units import QUANTITIES

ROOT = Path(__file__).parents[2]
GUIDE = (ROOT / "DEVELOPERS.md").read_text()
README = (ROOT / "README.md").read_text()


def test_every_quantity_stands_in_the_glossary() -> None:
    for one in QUANTITIES:
        name = "capacity" if one.name == "flow" else one.name
        row = (
            f"| {name} | {one.inside.replace('L/s', 'L/s')} | {one.in_.unit} / {one.mm.unit} |"
        )
        assert row in GUIDE


def test_every_proving_test_is_there() -> None:
    named = re.findall(r"`((?:unit|published|property|store)/test_[\w*]+\.py)`", GUIDE)
    assert len(named) > 10
    for one in named:
        assert list((ROOT / "tests").glob(one)), one


def test_every_command_of_the_readme_is_known(capsys) -> None:
    commands = set(re.findall(r"overwinter (\w+)\b", README))
    assert {"init", "import", "assess", "serve", "table", "check", "demo"} <= commands
    for command in commands:
        with pytest.raises(SystemExit, match="0"):
            main([command, "--help"])
    assert "usage" in capsys.readouterr().out
