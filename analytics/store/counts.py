"""What became of the rows that came in."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Counts:
    """Rows taken new, identical to what was known, and superseding what was known."""

    taken: int = 0
    identical: int = 0
    superseded: int = 0

    def __add__(self, other: "Counts") -> "Counts":
        """Add up two deliveries."""
        return Counts(
            taken=self.taken + other.taken,
            identical=self.identical + other.identical,
            superseded=self.superseded + other.superseded,
        )

    @property
    def total(self) -> int:
        """All rows counted."""
        return self.taken + self.identical + self.superseded


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What became of a file: ``rows_in`` = taken + identical + superseded + rejected."""

    rows_in: int
    counts: Counts
    rejected: int
    already: bool = False
    notes: tuple[str, ...] = ()
