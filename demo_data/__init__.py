"""The invented district and the generator that grows its record; no code of the science."""

from datetime import date

START = date(2019, 3, 1)
"""The first local day of the record."""

TODAY = date(2026, 2, 23)
"""The scenario's "today", a Monday; the record ends that morning."""

SEED = 20190301
"""The seed of the record that the demonstration ships."""

__all__ = ["SEED", "START", "TODAY"]
