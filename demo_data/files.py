"""Write the scenario as plain files in the data contract's form."""

from datetime import timedelta
from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd
import pyarrow as pa
import pyarrow.parquet as pq
from numpy.typing import NDArray

from demo_data import TODAY
from demo_data.cases import CASES, REMOVED_ON
from demo_data.district import (
    DISTRICT,
    METRIC_CRS,
    STATIONS,
    TIMEZONE,
    WELLS,
    centre_m,
    depths_of,
    fields,
    landmarks,
    spot_m,
)
from demo_data.rotations import harvested_by_today
from demo_data.sensors import Reading
from demo_data.soils import TEXTURES, texture_at
from demo_data.truth import Truth

KNOWN_SITE = "TF12"
"""The one field whose points came from soil cores, before the probe had learned any."""


def _degrees(places: list[tuple[float, float]]) -> tuple[list[float], list[float]]:
    east, south = zip(*places, strict=True)
    points = gpd.GeoSeries(gpd.points_from_xy(east, south), crs=METRIC_CRS).to_crs("EPSG:4326")
    return points.y.round(6).tolist(), points.x.round(6).tolist()


def sources_table() -> pd.DataFrame:
    """Lay out the sources."""
    names = [
        "source", "name", "capacity_l_s", "allocation_mm", "efficiency", "max_pass_mm",
        "available_from",
    ]  # fmt: skip
    return pd.DataFrame(list(WELLS), columns=names).assign(available_until="2026-10-15")


def sites_table() -> pd.DataFrame:
    """Lay out the probes, one row a stay in a hole, a way off the pivot's centre."""
    spots = [centre_m(plot) for plot in DISTRICT]
    lat, lon = _degrees([(x + 110.0, y + 90.0) for x, y in spots])
    table = pd.DataFrame(
        {
            "site": [plot.site for plot in DISTRICT],
            "field": [plot.field for plot in DISTRICT],
            "latitude": lat,
            "longitude": lon,
            "timezone": TIMEZONE,
            "installed_on": [
                f"2018-04-{10 + number % 15:02d}" for number in range(len(DISTRICT))
            ],
            "removed_on": "",
        }
    )
    moved = table["site"] == CASES["reinstalled"].site
    second = table[moved].assign(installed_on=CASES["reinstalled"].start.isoformat())
    second = second.assign(latitude=second["latitude"] + 0.00006)
    table.loc[moved, "removed_on"] = REMOVED_ON.isoformat()
    return pd.concat([table, second]).sort_values(["site", "installed_on"], ignore_index=True)


def layers_table() -> pd.DataFrame:
    """Lay out the sensors; only one field comes with points."""
    rows: list[dict[str, object]] = []
    for plot in DISTRICT:
        for depth in depths_of(plot):
            texture = texture_at(plot, depth)
            row: dict[str, object] = {"site": plot.site, "depth_cm": depth, "texture": texture}
            if plot.site == KNOWN_SITE:
                full, lower = TEXTURES[texture][:2]
                row |= {"full": round(full, 2), "lower": round(lower, 2)}
                row |= {"limits_from": "2018-04-20", "limits_by": "soil cores"}
            rows.append(row)
    names = ["site", "depth_cm", "top_cm", "bottom_cm", "texture", "full", "refill", "lower",
             "limits_from", "limits_by"]  # fmt: skip
    return pd.DataFrame(rows).reindex(columns=names)


def seasons_table(truth: Truth) -> pd.DataFrame:
    """Lay out the crops, those of next spring too; a date still to come stays blank."""
    rows: list[dict[str, object]] = []
    for one in truth.seasons:
        emerged = one.planted_on + timedelta(days=one.crop.emerges_d)
        matured = min(one.planted_on + timedelta(days=one.crop.matures_d), one.harvested_on)
        rows.append(
            {
                "field": DISTRICT[one.index].field,
                "crop": one.crop.name,
                "planted_on": one.planted_on.isoformat(),
                "harvested_on": one.harvested_on.isoformat() if harvested_by_today(one) else "",
                "emerged_on": emerged.isoformat() if emerged <= TODAY else "",
                "matured_on": matured.isoformat() if matured <= TODAY else "",
            }
        )
    return pd.DataFrame(rows).sort_values(["field", "planted_on"], ignore_index=True)


def _long_water(
    days: NDArray[np.datetime64], mm: NDArray[np.float64], kind: str, chosen: list[int]
) -> pd.DataFrame:
    day, column = np.nonzero(mm[:, chosen] > 0)
    index = np.array(chosen)[column]
    names = np.array([plot.field for plot in DISTRICT])
    return pd.DataFrame(
        {
            "field": names[index],
            "date": days[day].astype(str),
            "kind": kind,
            "mm": mm[day, index].round(1),
        }
    )


def water_table(truth: Truth) -> pd.DataFrame:
    """Lay out irrigation for all fields, rain and snow for those with a gauge of their own."""
    gauged = [index for index, plot in enumerate(DISTRICT) if plot.gauge]
    parts = [
        _long_water(truth.days, truth.irrigation_mm, "irrigation", list(range(len(DISTRICT)))),
        _long_water(truth.days, truth.rain_mm, "rain", gauged),
        _long_water(truth.days, truth.snow_mm, "snow", gauged),
    ]
    return pd.concat(parts).sort_values(["field", "date", "kind"], ignore_index=True)


def stations_table() -> pd.DataFrame:
    """Lay out the weather stations."""
    lat, lon = _degrees([spot_m(east, south) for _, east, south, _ in STATIONS])
    return pd.DataFrame(
        {
            "station": [row[0] for row in STATIONS],
            "latitude": lat,
            "longitude": lon,
            "elevation_m": [row[3] for row in STATIONS],
        }
    )


def weather_table(truth: Truth) -> pd.DataFrame:
    """Lay out daily weather since 1995, station by station."""
    names = ("tmin_c", "tmax_c", "rain_mm", "snow_mm", "wind_m_s", "rs_mj_m2", "tdew_c")
    parts = [
        pd.DataFrame(
            {
                "station": station[0],
                "date": truth.weather.days.astype(str),
                **{name: getattr(truth.weather, name)[:, column] for name in names},
            }
        )
        for column, station in enumerate(STATIONS)
    ]
    return pd.concat(parts, ignore_index=True)


def write_tables(folder: Path, truth: Truth) -> None:
    """Write every table but the readings."""
    (folder / "fields.geojson").write_text(fields().to_json(), encoding="utf-8")
    (folder / "landmarks.geojson").write_text(landmarks().to_json(), encoding="utf-8")
    tables = {
        "sources": sources_table(),
        "sites": sites_table(),
        "layers": layers_table(),
        "seasons": seasons_table(truth),
        "water": water_table(truth),
        "stations": stations_table(),
        "weather": weather_table(truth),
    }
    for name, table in tables.items():
        table.to_csv(folder / f"{name}.csv", index=False, lineterminator="\n")


def logger_columns(reading: Reading, rows: NDArray[np.bool_]) -> dict[str, NDArray[np.generic]]:
    """Lay readings out as a logger does: one row a time, two columns a sensor."""
    out: dict[str, NDArray[np.generic]] = {"time": reading.times[rows]}
    theta, temp = np.round(reading.theta[rows], 4), np.round(reading.temp_c[rows], 2)
    for column, depth in enumerate(reading.depths_cm):
        out[f"vwc {depth:g} cm [m3/m3]"] = theta[:, column]
        out[f"soil temp {depth:g} cm [C]"] = temp[:, column]
    return out


def write_logger(path: Path, reading: Reading, rows: NDArray[np.bool_]) -> None:
    """Write the main file of a probe as Parquet."""
    columns = logger_columns(reading, rows)
    arrays = {name: pa.array(values) for name, values in columns.items()}
    arrays["time"] = arrays["time"].cast(pa.timestamp("us", tz="UTC"))
    pq.write_table(pa.table(arrays), path, compression="zstd")


def write_late(path: Path, reading: Reading, rows: NDArray[np.bool_]) -> None:
    """Write a block that arrives late as CSV."""
    columns = logger_columns(reading, rows)
    stamp = np.datetime_as_string(columns["time"].astype("datetime64[s]"))
    table = pd.DataFrame({**columns, "time": np.char.add(stamp, "Z")})
    for name in table.columns[1:]:
        table[name] = table[name].astype(float).round(4)
    table.to_csv(path, index=False, lineterminator="\n")
