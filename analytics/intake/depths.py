"""Depths of a file set beside those that a site is known for.

People write 6 in for a sensor at 15 cm. Taken as they stand, the two would be two sensors, and
each would part the soil anew.
"""

import dataclasses
from collections import defaultdict
from collections.abc import Mapping

import numpy as np
import pandas as pd

from analytics.errors import some_of
from analytics.model import Delivery, Floats, Record

SAME_CM = 1.5  # sensors of one probe are never so close; ours
EQUAL_CM = 1e-6
SITES_NAMED = 5

Renamed = dict[float, float]


def settled(delivery: Delivery, known_cm: Mapping[str, Floats]) -> Delivery:
    """Take a file's depths as known ones where no other can be meant, and say so.

    Parameters
    ----------
    delivery : Delivery
    known_cm : mapping of site to depths in cm, ascending
        Of its layers table and its readings; a site of which none is known is left out.

    Returns
    -------
    Delivery
        A depth within 1.5 cm of exactly one known one, which no other depth of the file is as
        near to, is that one. Every other depth stays. Notes tell of both.
    """
    names: dict[str, Renamed] = {}
    said: dict[str, list[str]] = defaultdict(list)
    for record in delivery.readings:
        known = known_cm.get(record.site, np.empty(0))
        if len(known):
            names[record.site] = renamed_cm(record.depths_cm, known)
            for sentence in _sentences(record.depths_cm, known, names[record.site]):
                said[sentence].append(record.site)
    notes = [text.format(_sites(sites)) for text, sites in said.items()]
    if not notes:
        return delivery
    return dataclasses.replace(
        delivery,
        readings=tuple(_record(one, names.get(one.site, {})) for one in delivery.readings),
        replaced=_replaced(delivery.replaced, names),
        notes=(*delivery.notes, *(one for one in notes if one not in delivery.notes)),
    )


def renamed_cm(depths_cm: Floats, known_cm: Floats) -> Renamed:
    """Give each depth that is a known one written otherwise, with that one."""
    near = np.abs(depths_cm[:, None] - known_cm) <= SAME_CM + EQUAL_CM
    alone = near & (near.sum(axis=1) == 1)[:, None] & (near.sum(axis=0) == 1)
    pairs = ((float(depths_cm[i]), float(known_cm[j])) for i, j in np.argwhere(alone))
    return {said: meant for said, meant in pairs if said != meant}


def strange_cm(depths_cm: Floats, known_cm: Floats) -> Floats:
    """Give the depths that are not known ones as they stand."""
    apart = np.abs(depths_cm[:, None] - known_cm)
    return depths_cm[~(apart <= EQUAL_CM).any(axis=1)]


def _sentences(depths_cm: Floats, known_cm: Floats, names: Renamed) -> list[str]:
    strange = [float(one) for one in strange_cm(depths_cm, known_cm)]
    new = [one for one in strange if one not in names]
    told = [
        f"{said:.4g} cm is taken as {names[said]:.4g} cm, which is known there ({{}})."
        for said in strange
        if said in names
    ]
    if new:
        one = len(new) == 1
        which = f"A sensor at {_listed(new)} is" if one else f"Sensors at {_listed(new)} are"
        told.append(f"{which} new to {{}}: its layers so far are {_listed(known_cm)}.")
    return told


def _listed(depths_cm: Floats | list[float]) -> str:
    return ", ".join(f"{one:.4g}" for one in depths_cm) + " cm"


def _sites(sites: list[str]) -> str:
    return f"site{'s' * (len(sites) > 1)} {some_of(sites, SITES_NAMED)}"


def _record(record: Record, names: Renamed) -> Record:
    return dataclasses.replace(record, depths_cm=_named(record.depths_cm, names))


def _named(depths_cm: Floats, names: Renamed) -> Floats:
    return np.array([names.get(float(one), float(one)) for one in depths_cm], np.float64)


def _replaced(frame: pd.DataFrame, names: Mapping[str, Renamed]) -> pd.DataFrame:
    if frame.empty:
        return frame
    meant = [
        names.get(str(site), {}).get(float(depth), float(depth))
        for site, depth in zip(frame["site"], frame["depth_cm"], strict=True)
    ]
    return frame.assign(depth_cm=meant)
