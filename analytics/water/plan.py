"""From the programme's optimum to a calendar that a person can follow."""

from dataclasses import dataclass
from itertools import product

import numpy as np

from analytics.model import Bools, Floats
from analytics.water.programme import gross_m3_a_mm
from analytics.water.queue import OrderInputs, Source, open_days, stored_share, yearly_m3

DONE_MM = 1e-6  # a job with less left is done: rounding, not a threshold


@dataclass(slots=True, kw_only=True, eq=False)
class _Job:
    """So much net water for one field, to be put on within its open days."""

    field: int
    left_mm: float
    open: Bools
    last: int
    merit: float  # worth of a net mm
    going: bool = False


def in_blocks(inputs: OrderInputs, net_mm: Floats) -> Floats:
    """Gather each field's water of an optimum into runs of days.

    Parameters
    ----------
    inputs : OrderInputs
        Of one source, or of none.
    net_mm : (F, D) float
        An optimum. It may hop between fields, for the programme does not mind.

    Returns
    -------
    (F, D) float
        The same depth on every field, within the same limits; where the water cannot be
        gathered so, the optimum's own days.

    Notes
    -----
    The source is filled from its last day backwards: the field that is being watered goes
    on while it can, then the one that may wait longest, of those the one that gains least.
    Read forwards, the earliest planting and the worthiest field come first.
    """
    gathered = None
    if net_mm.any():
        (source,) = inputs.sources
        gathered = _gather(inputs, source, _jobs(inputs, source, net_mm))
    return net_mm.copy() if gathered is None else gathered


def _jobs(inputs: OrderInputs, source: Source, net_mm: Floats) -> list[_Job]:
    """Split each field's water by what stays of it: autumn's and spring's are two jobs.

    And by the years of the source's allocation: no day of one is given water of another.
    """
    jobs: list[_Job] = []
    year, _ = yearly_m3(inputs, source)
    for at, one in enumerate(inputs.fields):
        share = stored_share(inputs, one)
        fit = open_days(inputs, one, source)
        chance = np.mean([p for _, p in one.steps]) if one.steps else 0.0
        for level, within in product(np.unique(share), np.unique(year)):
            days = fit & (share == level) & (year == within)
            total = float(net_mm[at][days].sum())
            if total > DONE_MM:
                jobs.append(
                    _Job(field=at, left_mm=total, open=days, last=int(np.flatnonzero(days)[-1]),
                         merit=float(chance * level * one.worth))
                )  # fmt: skip
    return jobs


def _gather(inputs: OrderInputs, source: Source, jobs: list[_Job]) -> Floats | None:
    """Fill one source's days backwards; None when some water finds no day."""
    out = np.zeros((len(inputs.fields), len(inputs.days)))
    m3 = gross_m3_a_mm(inputs)
    span = int(inputs.settings.pass_days)
    for day in range(len(inputs.days) - 1, -1, -1):
        able = [job for job in jobs if job.left_mm > DONE_MM and job.open[day]]
        able.sort(key=lambda job: (not job.going, -job.last, job.merit, -job.field))
        left = source.m3_a_day
        for job in able:
            room = source.max_pass_mm - out[job.field, day : day + span].sum()
            put = max(min(job.left_mm, room, left / m3[job.field]), 0.0)
            out[job.field, day] += put
            job.left_mm -= put
            job.going = put > 0.0
            left -= put * m3[job.field]
    return out if all(job.left_mm <= DONE_MM for job in jobs) else None
