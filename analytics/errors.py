"""Every error raised on purpose. Each says which thing, what was found, and what to do."""

from collections.abc import Mapping, Sequence
from typing import Any


def some_of(names: Sequence[str], most: int) -> str:
    """Name the first few in a sentence, and count the rest: "a, b and 3 more"."""
    rest = len(names) - most
    return ", ".join(names[:most]) + (f" and {rest} more" if rest > 0 else "")


class OverwinterError(Exception):
    """Something a person can put right; its text is a whole sentence for them to read."""


class InputRefused(OverwinterError, ValueError):
    """A file, row or value that cannot be taken.

    Parameters
    ----------
    where : str
        The file, and where known the row and the column.
    found : str
        What was found there.
    remedy : str
        What to do about it.
    """

    def __init__(self, where: str, found: str, remedy: str) -> None:
        self.where, self.found, self.remedy = where, found, remedy
        super().__init__(f"{where}: {found} {remedy}")

    def __reduce__(self) -> tuple[type["InputRefused"], tuple[Any, ...]]:
        """Let the error travel between processes."""
        return (type(self), (self.where, self.found, self.remedy))


class LeftOpen(InputRefused):
    """What a file does not tell and a person can, who may be asked at once.

    Parameters
    ----------
    where, found, remedy : str
        As of :class:`InputRefused`.
    asks : str
        The question.
    answers : mapping of str to dict
        Each answer as a person reads it, and the part of a mapping that it stands for.
    """

    def __init__(
        self, where: str, found: str, remedy: str, asks: str, answers: Mapping[str, Any]
    ) -> None:
        self.asks, self.answers = asks, answers
        super().__init__(where, found, remedy)

    def __reduce__(self) -> tuple[type["LeftOpen"], tuple[Any, ...]]:
        """Let the error travel between processes."""
        return (type(self), (self.where, self.found, self.remedy, self.asks, self.answers))


class StoreError(OverwinterError):
    """The store itself cannot do what was asked."""


class StoreMissing(StoreError, LookupError):
    """There is no store at the path given."""


class StoreBusy(StoreError):
    """Another process holds the store longer than we are willing to wait."""


class StoreNewer(StoreError):
    """The store was written by a newer Overwinter than this one."""


class NotKnown(OverwinterError, LookupError):
    """A name (table, field, site) that the store does not hold."""


class NotAllowed(OverwinterError):
    """Whoever asks may not see or change this."""
