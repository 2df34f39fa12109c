"""The readings: one folder a site, one small Parquet part a year."""

from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from dataclasses import replace as replaced_by
from datetime import UTC, date, datetime
from pathlib import Path

import numpy as np
import pandas as pd
import pyarrow as pa
import pyarrow.parquet as pq

from analytics.model import Bools, Floats, Record, nothing_replaced, rows_of
from analytics.store import parts
from analytics.store.connection import seen_sites, site_turn
from analytics.store.counts import Counts
from analytics.store.manifest import replace, settle
from analytics.store.paths import READINGS, plain, require, site_folder

SUPERSEDED = "superseded.parquet"


@dataclass(frozen=True, slots=True, kw_only=True)
class Merged:
    """What a merge did, counted by instants and by single sensors' readings.

    ``since`` is the first instant (UTC) of which anything is new or other than it was.
    """

    instants: Counts
    readings: Counts
    since: np.datetime64 | None = None

    def __add__(self, other: "Merged") -> "Merged":
        """Add up two merges."""
        begun = [one for one in (self.since, other.since) if one is not None]
        return Merged(
            instants=self.instants + other.instants, readings=self.readings + other.readings,
            since=min(begun) if begun else None,
        )  # fmt: skip


NOTHING = Merged(instants=Counts(), readings=Counts())


def merge(store: Path, record: Record) -> Counts:
    """Take a delivery of one site's readings; the newest delivery wins.

    Only the years it touches are rewritten, and those only where something changes. A value
    missing from the delivery never erases a known one. Values that give way to others are
    kept in ``superseded.parquet`` beside the parts.

    Parameters
    ----------
    store : Path
        The store's folder.
    record : Record
        theta in m3/m3, degrees C; instants ascending, UTC.

    Returns
    -------
    Counts
        By instants: taken (the instant, or a value at it, is new), identical, superseded
        (at least one known value was replaced). Their sum is ``len(record.times)``.
    """
    return merge_counted(store, record).instants


def merge_counted(store: Path, record: Record) -> Merged:
    """Do what ``merge`` does and count single sensors' readings too."""
    require(store)
    total = NOTHING
    folder = site_folder(store, record.site)
    with site_turn(store, record.site):
        folder.mkdir(parents=True, exist_ok=True)
        for year, piece in _years(record):
            total += _merge_year(folder, year, piece)
        settle(folder)
    return total


def take_out(store: Path, site: str, first: np.datetime64, last: np.datetime64) -> int:
    """Take a site's readings of a span out; they are kept as values that gave way to nothing.

    Parameters
    ----------
    store : Path
        The store's folder.
    site : str
        The probe's id.
    first, last : datetime64
        UTC; both are taken out.

    Returns
    -------
    int
        Instants taken out.
    """
    require(store)
    count, folder = 0, site_folder(store, site)
    with site_turn(store, site):
        for path in year_parts(folder):
            whole = parts.read(path, site)
            going = (whole.times >= first) & (whole.times <= last)
            if not going.any():
                continue
            leaving = rows_of(whole, going)
            nothing = np.full(leaving.theta.shape, np.nan)
            after = replaced_by(leaving, theta=nothing, temp_c=nothing)
            _keep_superseded(folder, leaving, after, _seen(leaving))
            if going.all():
                path.unlink()
            else:
                parts.write(path, rows_of(whole, ~going))
            count += int(going.sum())
        if count:
            settle(folder)
    return count


def read(store: Path, site: str, since: date | None = None) -> Record:
    """Give all of one site's readings, or those from a day (UTC) on.

    Returns
    -------
    Record
        Instants ascending, all sensors that ever read (in those years); without rows for a
        site that has none.
    """
    require(store)
    first = since or date.min
    found = [one for one in _seen_parts(store, site) if int(one.stem) >= first.year]
    return _joined(site, [parts.read(path, site, since) for path in found])


def year_parts(folder: Path) -> list[Path]:
    """List a site's parts, oldest first."""
    return sorted(path for path in folder.glob("*.parquet") if path.stem.isdigit())


def sites(store: Path) -> list[str]:
    """List the sites that have a folder of readings."""
    folders = (store / READINGS).glob("site=*")
    found = {plain(one.name.removeprefix("site=")) for one in folders}
    seen = seen_sites(store)
    return sorted(found if seen is None else found & seen)


def _seen_parts(store: Path, site: str) -> list[Path]:
    """List a site's parts; none of one that whoever is being served may not see."""
    seen = seen_sites(store)
    return year_parts(site_folder(store, site)) if seen is None or site in seen else []


def newest(store: Path, site: str) -> pd.Timestamp | None:
    """Give the instant (UTC) of a site's newest reading, None where there is none."""
    found = _seen_parts(store, site)
    return parts.last(found[-1]) if found else None


def oldest(store: Path, site: str) -> pd.Timestamp | None:
    """Give the instant (UTC) of a site's first reading, None where there is none."""
    found = _seen_parts(store, site)
    return parts.first(found[0]) if found else None


def depths(store: Path, site: str) -> Floats:
    """Give the depths in cm of all sensors that ever read, shallowest first; out of footers."""
    return _depths(_seen_parts(store, site))


def newest_depths(store: Path, site: str) -> Floats:
    """Give the depths in cm of a site's newest year, shallowest first."""
    return _depths(_seen_parts(store, site)[-1:])


def _depths(found: list[Path]) -> Floats:
    """Give the depths of parts; one that cannot be read, which ``check`` names, has none."""
    told = [np.empty(0)]
    for path in found:
        with suppress(parts.Unreadable):
            told.append(np.array(parts.depths(path), np.float64))
    return np.unique(np.concatenate(told))


def long(store: Path) -> pd.DataFrame:
    """Give every reading as one row a sensor and instant, as the contract has it."""
    frames = [*by_site(store)]
    some = [one for one in frames if len(one)]
    return pd.concat(some, ignore_index=True) if some else frames[0]


def by_site(store: Path) -> Iterator[pd.DataFrame]:
    """Give the same site after site, one of them in memory at a time; at least one frame."""
    require(store)
    yield _long(_joined("", []))
    for site in sites(store):
        yield _long(read(store, site))


def _long(record: Record) -> pd.DataFrame:
    known = ~(np.isnan(record.theta) & np.isnan(record.temp_c))
    row, sensor = np.nonzero(known)
    times = pd.Series(record.times[row]).dt.tz_localize("UTC")
    return pd.DataFrame(
        {
            "site": pd.Series(record.site, index=times.index, dtype="str"),
            "time": times,
            "depth_cm": record.depths_cm[sensor],
            "vwc": record.theta[known],
            "soil_temp_c": record.temp_c[known],
        }
    )


def _years(record: Record) -> Iterator[tuple[int, Record]]:
    """Cut a record, which is in order of time, at each new year (UTC)."""
    years = record.times.astype("datetime64[Y]").astype(int) + 1970
    found, begun = np.unique(years, return_index=True)
    for year, first, after in zip(found, begun, [*begun[1:], len(years)], strict=True):
        yield int(year), rows_of(record, slice(int(first), int(after)))


def _merge_year(folder: Path, year: int, new: Record) -> Merged:
    path = folder / f"{year:04d}.parquet"
    if not path.exists():
        parts.write(path, new)
        return _all_taken(new)
    old, new = parts.read(path, new.site), parts.rounded(new)
    if _goes_on(old, new):
        parts.write(path, _joined(new.site, [old, new]))
        return _all_taken(new)
    times = np.union1d(old.times, new.times)
    depths = np.union1d(old.depths_cm, new.depths_cm)
    before, after = _spread(old, times, depths), _spread(new, times, depths)
    replaced = _differ(before.theta, after.theta) | _differ(before.temp_c, after.temp_c)
    added = _adds(before.theta, after.theta) | _adds(before.temp_c, after.temp_c)
    if replaced.any():
        _keep_superseded(folder, before, after, replaced)
    instants = np.isin(times, old.times)
    if replaced.any() or added.any() or not instants.all():
        parts.write(path, _over(before, after))
    here = np.isin(times, new.times)
    news: Bools = np.logical_or(added.any(axis=1), ~instants)
    rows: Bools = np.logical_or.reduce(replaced, axis=1)
    other = times[rows | news]
    return Merged(
        instants=_counts(rows[here], news[here]),
        readings=_counts(replaced[_seen(after)], added[_seen(after)]),
        since=other[0] if len(other) else None,
    )


def _goes_on(old: Record, new: Record) -> bool:
    """Tell whether a delivery but adds later instants of the same sensors, as most do."""
    later = len(old.times) > 0 and bool(new.times[0] > old.times[-1])
    return later and np.array_equal(old.depths_cm, new.depths_cm)


def _all_taken(new: Record) -> Merged:
    return Merged(
        instants=Counts(taken=len(new.times)),
        readings=Counts(taken=int(_seen(new).sum())),
        since=new.times[0],
    )


def _counts(replaced: Bools, added: Bools) -> Counts:
    superseded, taken = int(replaced.sum()), int((added & ~replaced).sum())
    return Counts(
        taken=taken, superseded=superseded, identical=len(replaced) - taken - superseded
    )


def _seen(record: Record) -> Bools:
    return ~(np.isnan(record.theta) & np.isnan(record.temp_c))


def _differ(before: Floats, after: Floats) -> Bools:
    return ~np.isnan(before) & ~np.isnan(after) & (before != after)


def _adds(before: Floats, after: Floats) -> Bools:
    return np.isnan(before) & ~np.isnan(after)


def _spread(record: Record, times: np.ndarray, depths: Floats) -> Record:
    """Lay a record out on more instants and sensors, NaN where it has none."""
    rows = np.searchsorted(times, record.times)
    columns = np.searchsorted(depths, record.depths_cm)
    laid = [np.full((len(times), len(depths)), np.nan) for _ in range(2)]
    for block, values in zip(laid, (record.theta, record.temp_c), strict=True):
        block[np.ix_(rows, columns)] = values
    return Record(
        site=record.site, times=times, depths_cm=depths, theta=laid[0], temp_c=laid[1]
    )


def _over(before: Record, after: Record) -> Record:
    return Record(
        site=before.site,
        times=before.times,
        depths_cm=before.depths_cm,
        theta=np.where(np.isnan(after.theta), before.theta, after.theta),
        temp_c=np.where(np.isnan(after.temp_c), before.temp_c, after.temp_c),
    )


def _joined(site: str, found: list[Record]) -> Record:
    if len(found) == 1:
        return found[0]
    depths = np.unique(np.concatenate([np.empty(0), *(one.depths_cm for one in found)]))
    laid = [_spread(one, one.times, depths) for one in found]
    empty = np.empty((0, len(depths)))
    return Record(
        site=site,
        times=np.concatenate([np.empty(0, "datetime64[us]"), *(one.times for one in laid)]),
        depths_cm=depths,
        theta=np.concatenate([empty, *(one.theta for one in laid)]),
        temp_c=np.concatenate([empty, *(one.temp_c for one in laid)]),
    )


def superseded(store: Path) -> pd.DataFrame:
    """Give every value that gave way to a newer delivery's, and what stood there next.

    Returns
    -------
    DataFrame
        site, time, depth_cm, vwc, soil_temp_c, vwc_now, soil_temp_c_now, replaced_at.
    """
    require(store)
    frames = [nothing_replaced().assign(replaced_at=pd.Series(dtype="datetime64[us, UTC]"))]
    for site in sites(store):
        path = site_folder(store, site) / SUPERSEDED
        if path.exists():
            with pq.ParquetFile(path) as kept:
                frame = kept.read().to_pandas()
            frame.insert(0, "site", pd.Series(site, index=frame.index, dtype="str"))
            frames.append(frame)
    found = pd.concat(frames[1:] or frames, ignore_index=True)
    return found.sort_values(["site", "time", "depth_cm"], ignore_index=True, kind="stable")


def keep_replaced(store: Path, replaced: pd.DataFrame) -> None:
    """Keep values that a file gave and contradicted itself; columns ``model.REPLACED``."""
    require(store)
    for site, frame in replaced.groupby("site"):
        folder = site_folder(store, str(site))
        with site_turn(store, str(site)):
            _append_superseded(folder, frame.drop(columns="site"))


def _keep_superseded(folder: Path, before: Record, after: Record, replaced: Bools) -> None:
    """Keep the values that give way."""
    row, sensor = np.nonzero(replaced)
    news = pd.DataFrame(
        {
            "time": pd.Series(before.times[row]).dt.tz_localize("UTC"),
            "depth_cm": before.depths_cm[sensor],
            "vwc": before.theta[replaced],
            "soil_temp_c": before.temp_c[replaced],
            "vwc_now": after.theta[replaced],
            "soil_temp_c_now": after.temp_c[replaced],
        }
    )
    _append_superseded(folder, news)


def _append_superseded(folder: Path, news: pd.DataFrame) -> None:
    """Append to a site's replaced values; a repeated merge adds none twice."""
    news = news.assign(replaced_at=pd.Timestamp(datetime.now(UTC)))
    path = folder / SUPERSEDED
    if path.exists():
        with pq.ParquetFile(path) as kept:
            news = pd.concat([kept.read().to_pandas(), news], ignore_index=True)
        said = [name for name in news.columns if name != "replaced_at"]
        news = news.drop_duplicates(subset=said, keep="first")
    table = pa.Table.from_pandas(news, preserve_index=False)
    sink = pa.BufferOutputStream()
    pq.write_table(table, sink, compression="zstd")
    replace(path, sink.getvalue().to_pybytes())
