"""How one threshold is declared."""

from dataclasses import field
from typing import Any


def setting(default: float, unit: str, meaning: str, source: str) -> Any:
    """Declare a threshold with its default, unit, meaning and source."""
    return field(default=default, metadata={"unit": unit, "meaning": meaning, "source": source})
