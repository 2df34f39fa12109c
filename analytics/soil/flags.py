"""Reasons to doubt a reading: one bit each, kept beside the value and never instead of it."""

import enum

import numpy as np
from numpy.typing import NDArray

from analytics.model import Bools


class Flag(enum.IntFlag):
    """Why a reading is doubted; a reading may carry several.

    ``DUPLICATE`` is a person's alone: of a reading that was delivered twice the newest stands,
    and what gave way to it is kept in a table of its own. The others are found by
    :func:`analytics.soil.quality.quality_flags`, and any may be set or cleared by a person.
    """

    RANGE = 1
    SPIKE = 2
    STUCK = 4
    STEP = 8
    FROZEN = 16
    SETTLING = 32
    DUPLICATE = 64
    UNIT = 128
    FAILING = 256
    CLOCK = 512
    FROST_EDGE = 1024
    PLACELESS = 2048
    LOW_FLAT = 4096
    PLATEAU = 8192


UNUSABLE = (
    Flag.RANGE
    | Flag.SPIKE
    | Flag.STUCK
    | Flag.FROZEN
    | Flag.DUPLICATE
    | Flag.UNIT
    | Flag.FAILING
    | Flag.PLACELESS
    | Flag.LOW_FLAT
)
"""A reading with any of these enters no number.

Settling ones do, but teach no points. A step doubts what is compared across it, not what is
read after it; a clock an hour off moves no day's figure; a soil under water reads a plateau at
saturation honestly.
"""


def runs(marked: Bools) -> list[tuple[int, int]]:
    """Find the first and the last place of every run of marked places."""
    return [(int(first), int(last)) for first, last in zip(*run_ends(marked), strict=True)]


def run_ends(marked: Bools) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Find the first places of all runs of marked places, and their last ones."""
    change = np.flatnonzero(np.diff(np.r_[False, marked, False]))
    return change[::2], change[1::2] - 1
