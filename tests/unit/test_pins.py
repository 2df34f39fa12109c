"""What is installed is what requirements.txt pins."""

import re
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

from packaging.markers import Marker

PINS = (Path(__file__).parents[2] / "requirements.txt").read_text()


def test_installed_versions_are_the_pinned_ones() -> None:
    pinned = re.findall(r"^([\w.-]+)==(\S+?)(?: ; (.*?))?(?: \\)?$", PINS, flags=re.MULTILINE)
    assert len(pinned) > 50
    differ = {}
    for name, wanted, marker in pinned:
        if marker and not Marker(marker).evaluate():
            continue  # for another system or Python
        try:
            found = version(name)
        except PackageNotFoundError:
            continue  # of a group that is not installed
        if found != wanted:
            differ[name] = (wanted, found)
    assert not differ


def test_pins_carry_hashes_and_no_addresses() -> None:
    assert PINS.count("--hash=sha256:") > 100
    assert "://" not in PINS
