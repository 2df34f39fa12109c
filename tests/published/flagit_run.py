"""Run the reference implementation in an environment of its own: CSV in, JSON out.

Columns in: series, soil_moisture (per cent by volume), soil_temperature. Out: for each series
and flag, the rows that carry it. Rows are taken as hours.
"""

import json
import sys
import warnings

import pandas as pd

warnings.simplefilter("ignore")
pd.options.mode.copy_on_write = False

from flagit import flagit  # noqa: E402  # pyright: ignore[reportMissingImports]

NAMES = ["C01", "C02", "D01", "D06", "D07", "D09", "D10"]


def main(source: str, target: str) -> None:
    """Flag every series."""
    found = {}
    for name, part in pd.read_csv(source).groupby("series", sort=False):
        data = part[["soil_moisture", "soil_temperature"]].copy()
        data.index = pd.date_range("2020-01-01", periods=len(part), freq="h")
        flags = flagit.Interface(data).run(name=NAMES)["qflag"]
        rows = {flag: [] for flag in [*NAMES, "D08"]}
        hours = (flags.index - pd.Timestamp("2020-01-01")) // pd.Timedelta("1h")
        for row, carried in zip(hours, flags, strict=True):
            for flag in carried if isinstance(carried, set) else ():
                rows[flag].append(int(row))
        found[name] = rows
    with open(target, "w") as out:  # noqa: PTH123 - a script for an older Python
        json.dump(found, out)


if __name__ == "__main__":
    main(sys.argv[1], sys.argv[2])
