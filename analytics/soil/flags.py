"""Reasons to doubt a reading: one bit each, kept beside the value and never instead of it."""

import enum

import numpy as np

from analytics.model import Bools


class Flag(enum.IntFlag):
    """Why a reading is doubted; a reading may carry several.

    ``DUPLICATE`` and ``CLOCK`` are set where files are read or by a person; the others are
    found by :func:`analytics.soil.quality.quality_flags`.
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


UNUSABLE = (
    Flag.RANGE
    | Flag.SPIKE
    | Flag.STUCK
    | Flag.FROZEN
    | Flag.DUPLICATE
    | Flag.UNIT
    | Flag.FAILING
    | Flag.CLOCK
    | Flag.PLACELESS
)
"""A reading with any of these enters no number. Settling ones do, but teach no points."""


def runs(marked: Bools) -> list[tuple[int, int]]:
    """Find the first and the last place of every run of marked places."""
    change = np.flatnonzero(np.diff(np.r_[False, marked, False]))
    return [(int(first), int(after) - 1) for first, after in change.reshape(-1, 2)]
