"""What a user would do instead: the same files in pandas, to daily values and a profile."""

import sys
from pathlib import Path

import pandas as pd


def main(folder: str) -> None:
    """Read wide logger files, take the median before dawn, and sum the latest profile."""
    frames = [
        pd.read_csv(path, parse_dates=["time"]) for path in sorted(Path(folder).glob("*.csv"))
    ]
    every = pd.concat(frames, ignore_index=True)
    every["time"] = every["time"].dt.tz_convert("America/Chicago")
    moist = [str(name) for name in every if str(name).startswith("vwc_")]
    night = every[every["time"].dt.hour.between(3, 5)]
    daily = night.groupby(["site", night["time"].dt.date])[moist].median()
    latest = daily.groupby("site").tail(1)
    depths = pd.Series([float(one[4:-2]) for one in moist], index=moist)
    thick = depths.diff().fillna(depths.iloc[0]) * 10
    sys.stdout.write((latest * thick).sum(axis=1).to_string())


if __name__ == "__main__":
    main(sys.argv[1])
