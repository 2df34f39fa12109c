"""The records that rooms hand to one another: frozen, in one unit a quantity."""

import dataclasses
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

import numpy as np
import pandas as pd
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
Times = NDArray[np.datetime64]
WORDS_APART = ("mode.string_storage", "python")
"""pandas' option by which frames hold each word by itself, not a column's in one buffer.

An assessment makes and cuts thousands of frames of a few rows, and a page takes its frames row
by row: a tenth of the one and more of the other would go into such buffers.
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Placement:
    """One stay of a probe in one hole; points and comparisons never cross it."""

    site: str
    field: str
    number: int
    latitude: float
    longitude: float
    timezone: str
    installed_on: date | None
    removed_on: date | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Layer:
    """The slice of soil that one sensor speaks for, with points known beforehand."""

    site: str
    depth_cm: float
    top_cm: float
    bottom_cm: float
    texture: str | None = None
    full: float | None = None
    refill: float | None = None
    lower: float | None = None
    limits_from: date | None = None
    limits_by: str | None = None
    sand: float | None = None  # per cent of the fine earth, as silt and clay
    silt: float | None = None
    clay: float | None = None

    @property
    def thickness_cm(self) -> float:
        """Bottom less top."""
        return self.bottom_cm - self.top_cm


@dataclass(frozen=True, slots=True, kw_only=True)
class Season:
    """One crop in one field."""

    field: str
    crop: str
    planted_on: date
    harvested_on: date | None = None
    emerged_on: date | None = None
    matured_on: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Record:
    """One site's readings: row i is an instant, column j a sensor, shallowest first.

    Parameters
    ----------
    site : str
    times : (n,) datetime64[us]
        UTC, strictly ascending.
    depths_cm : (k,) float
        Ascending.
    theta : (n, k) float
        m3/m3, NaN where there is no reading.
    temp_c : (n, k) float
        Degrees C, NaN where there is none.
    """

    site: str
    times: Times
    depths_cm: Floats
    theta: Floats
    temp_c: Floats


def no_readings(site: str, depths_cm: Floats) -> Record:
    """Give a record of a site's sensors without any reading."""
    nothing = np.empty((0, len(depths_cm)))
    times = np.empty(0, "datetime64[us]")
    return Record(site=site, times=times, depths_cm=depths_cm, theta=nothing, temp_c=nothing)


def rows_of(record: Record, rows: slice | Bools) -> Record:
    """Give some of a record's instants, all sensors."""
    return dataclasses.replace(
        record, times=record.times[rows], theta=record.theta[rows], temp_c=record.temp_c[rows]
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Daily:
    """One site's local days without holes: row d is a day, column j a sensor.

    ``state`` is the day's value for every judgement: the pre-dawn value of an hourly record,
    the only value of a daily one, held at the last unfrozen value while ``held``; NaN where
    nothing good was read. ``temp_c`` is the day's mean. ``good`` counts good readings.
    ``placement`` numbers each day's placement (0 before the first).
    """

    site: str
    days: Times  # (D,) datetime64[D]
    depths_cm: Floats
    first: Floats
    last: Floats
    low: Floats
    high: Floats
    mean: Floats
    predawn: Floats
    state: Floats
    temp_c: Floats
    good: NDArray[np.int32]
    frozen: Bools
    held: Bools
    placement: NDArray[np.int16]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Points:
    """The points of one placement in force, one value a layer, shallowest first.

    ``full``, ``refill`` and ``lower`` are m3/m3 and never NaN (a texture stands in);
    ``state`` is the full point's: learned, provisional, not_yet_seen, texture or set.
    """

    placement: int
    full: Floats  # (k,)
    refill: Floats
    lower: Floats
    full_sd: Floats
    lower_sd: Floats
    state: tuple[str, ...]
    lower_state: tuple[str, ...]
    ponded: Bools


@dataclass(frozen=True, slots=True, kw_only=True)
class OffSeason:
    """From one crop's harvest to the next planting, or to today while ``open``.

    ``standing``: a winter under a crop sown in autumn, from its planting to the spring day on
    which it grows again; ``crop_before`` is that crop.
    """

    field: str
    start: date
    end: date
    crop_before: str
    crop_next: str | None
    open: bool
    standing: bool = False


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SiteInputs:
    """All that is known about one site before it is assessed.

    ``water`` has columns date (datetime64), kind, mm; ``weather`` has columns date, tmin_c,
    tmax_c, rain_mm, snow_mm of the nearest station (empty where there is none).
    ``set_limits`` has the columns of the ``limits`` table, only versions set by a person.
    ``flag_edits`` are people's words on flags, as ``soil.edits.apply_edits`` takes them.
    ``root_limit_cm`` is the depth of a layer that roots cannot pass; None: none is known.
    """

    record: Record
    field: str
    soil: str | None
    placements: tuple[Placement, ...]
    layers: tuple[Layer, ...]
    seasons: tuple[Season, ...]
    water: pd.DataFrame
    weather: pd.DataFrame
    set_limits: pd.DataFrame
    as_of: date
    flag_edits: pd.DataFrame = dataclasses.field(
        default_factory=lambda: pd.DataFrame(
            columns=pd.Index(["depth_cm", "flag", "from", "to", "action"])
        )
    )
    root_limit_cm: float | None = None


REPLACED = ("site", "time", "depth_cm", "vwc", "soil_temp_c", "vwc_now", "soil_temp_c_now")


def nothing_replaced() -> pd.DataFrame:
    """Give an empty table of values that gave way."""
    return pd.DataFrame(columns=pd.Index(REPLACED))


GAUGE = ("station", "time", "quantity", "value")


def no_gauge() -> pd.DataFrame:
    """Give an empty table of a logger's own weather readings."""
    return pd.DataFrame(columns=pd.Index(GAUGE))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Delivery:
    """What one file brought, before the store has seen it.

    Attributes
    ----------
    tables : mapping of table name to frame
        Columns of the contract, values valid; ``fields`` is a GeoDataFrame in WGS 84.
    readings : tuple of Record
        One a site.
    rejects : DataFrame
        Columns line, column, value, reason.
    notes : tuple of str
        Sentences a person should read: extra columns kept aside, hours resolved by order.
    mapping : dict or None
        For a logger file, the mapping that was used (JSON-able), guessed or given.
    rows_in : int
        Data rows found in the file; ``rows_repeated`` of them speak of an instant that a
        later row speaks of again, ``rows_overruled`` of those gave a value that a later one
        contradicts. Of each value the last one given wins.
    replaced : DataFrame
        The values so contradicted within the file; columns ``REPLACED``.
    signature : str
        For a logger file, the sign by which its logger's next file is known.
    gauge : DataFrame
        A logger's own weather, reading by reading; columns ``GAUGE``. ``tables`` then holds the
        days that this file alone makes of it.
    """

    path: str
    kind: str
    sha256: str
    tables: Mapping[str, pd.DataFrame] = dataclasses.field(default_factory=dict)
    readings: tuple[Record, ...] = ()
    rejects: pd.DataFrame = dataclasses.field(
        default_factory=lambda: pd.DataFrame(columns=["line", "column", "value", "reason"])
    )
    notes: tuple[str, ...] = ()
    mapping: dict[str, object] | None = None
    rows_in: int = 0
    rows_repeated: int = 0
    rows_overruled: int = 0
    replaced: pd.DataFrame = dataclasses.field(default_factory=nothing_replaced)
    signature: str = ""
    gauge: pd.DataFrame = dataclasses.field(default_factory=no_gauge)
