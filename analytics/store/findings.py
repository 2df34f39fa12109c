"""One thing that a look over the store finds."""

from dataclasses import dataclass
from typing import Literal

Level = Literal["damaged", "missing", "suspect"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One thing found: ``damaged`` files, ``missing`` knowledge, or a ``suspect`` state."""

    level: Level
    what: str
    remedy: str
