"""The watering order of a whole store: what it rests on is gathered, its tables are laid out.

Past forecasts are made site by site, inside each site's own task; the order needs all sites
and is worked out once, before the results are published.
"""

import json
from collections.abc import Iterable, Mapping
from concurrent.futures import Executor
from dataclasses import asdict
from datetime import date, timedelta
from pathlib import Path

import duckdb
import numpy as np
import pandas as pd
from numpy.typing import NDArray
from pyproj import Geod

from analytics.model import Layer, SiteInputs
from analytics.settings import Settings
from analytics.soil.offseason import off_seasons, usual_winters
from analytics.soil.points import latest_placement, points_of
from analytics.soil.profile import resolve_layers, thickness_mm
from analytics.soil.recent import days_of
from analytics.store import coefficients, connection, statements
from analytics.store.frames import columns_by, from_arrow, parted, placed
from analytics.store.inputs import nearest
from analytics.store.order_told import field_told, source_told
from analytics.store.staged import Arrived, latest
from analytics.water.advice import Advice, advise, sources_of, station_days
from analytics.water.errors import dressed, shown_outlook
from analytics.water.hindcast import CASE_COLUMNS, grade, hindcasts, past_cases
from analytics.water.pumping import M3_PER_MM_HA
from analytics.water.queue import Source, allocation_begins
from analytics.water.season_grade import season_grade
from analytics.water.silent import stood_in
from analytics.water.thirst import Ground, SiteAdviceInputs

_ELLIPSOID = Geod(ellps="WGS84")
_M2_PER_HA = 10_000.0
_EDGES = ["depth_cm", "top_cm", "bottom_cm"]
_RENAMED = {"mean_error_mm": "mean_abs_error_mm", "coverage": "coverage_80"}


def past_forecasts(
    inputs: SiteInputs, tables: Mapping[str, pd.DataFrame], days: pd.DataFrame | None,
    settings: Settings,
) -> pd.DataFrame:  # fmt: skip
    """Make one site's forecasts of past off-seasons, and set what happened beside them.

    Parameters
    ----------
    inputs : SiteInputs
    tables : mapping of str to DataFrame
        What the site's assessment gave; ``daily`` and ``limits`` are used.
    days : DataFrame or None
        Of the station nearest to it (:func:`analytics.water.years.daily_weather`).
    settings : Settings

    Returns
    -------
    DataFrame
        Rows of the ``forecasts`` table; empty without weather, points or a coming planting.
    """
    none = pd.DataFrame(columns=CASE_COLUMNS)
    coming = [one.planted_on for one in inputs.seasons if one.planted_on > inputs.as_of]
    own = tables.get("daily")
    if days is None or own is None or own.empty or "limits" not in tables or not coming:
        return none
    record = inputs.record
    layers = resolve_layers(record.site, record.depths_cm, inputs.layers, inputs.soil)
    daily = days_of(record.site, own)
    points = points_of(tables["limits"], layers, int(daily.placement[-1]))
    winters = off_seasons(
        inputs.field, inputs.seasons, daily.days[0].astype("datetime64[D]").item(), inputs.as_of
    )
    cases = past_cases(
        daily, layers, points, winters, inputs.water,
        lead_d=(min(coming) - inputs.as_of).days, settings=settings,
    )  # fmt: skip
    return hindcasts(cases, layers, points, days, settings, root_limit_cm=inputs.root_limit_cm)


def station_weather(
    db: duckdb.DuckDBPyConnection, stations: pd.DataFrame, station: str, until: date,
    settings: Settings,
) -> pd.DataFrame | None:  # fmt: skip
    """One station's days; None where it has none."""
    weather = statements.rows(db, "advice_weather", station=station, until=until)
    row = stations[stations["station"] == station].iloc[0]
    height = height_m(stations, float(row["latitude"]), float(row["longitude"]))
    if weather.empty:
        return None
    return station_days(weather, float(row["latitude"]), height, settings)


def height_m(stations: pd.DataFrame, latitude: float, longitude: float) -> float:
    """Give the height of the nearest station that has one; the sea's where none has.

    A station without a height is told by ``check``: its air pressure, and so its reference
    evapotranspiration, rests on a neighbour's.
    """
    known = stations[stations["elevation_m"].notna()]
    name = nearest(known, latitude, longitude)
    own = known.loc[known["station"] == name, "elevation_m"].to_numpy(np.float64)
    return float(own[0]) if len(own) else 0.0


def order_tables(
    store: Path, arrived: Iterable[Arrived], as_of: date, settings: Settings,
    executor: Executor | None = None,
) -> dict[str, pd.DataFrame]:  # fmt: skip
    """Work out the order of the whole store from results on their way and those that stay.

    Parameters
    ----------
    store : Path
    arrived : iterable of Staged or Rewritten
        What was just assessed; of all other sites the published results count.
    as_of : date
    settings : Settings
    executor : Executor, optional
        Makes the sites' cases for water in a large store.

    Returns
    -------
    dict of str to DataFrame
        The tables of ``results.WHOLE``. A field that cannot be judged stands in
        ``order_left_out`` with a sentence.
    """
    arrived = tuple(arrived)
    with connection.reading(store) as db:
        fields = field_areas(db)
        sources = sources_told(db, fields, as_of, settings)
        sites = _sites(db, arrived, fields, as_of, settings)
        stations = statements.rows(db, "advice_stations")
        named = sorted({one.station for one in sites if one.station})
        found = {one: station_weather(db, stations, one, as_of, settings) for one in named}
        cases = _rows(db, arrived, "forecasts", "advice_forecasts")
        grown = _rows(db, arrived, "season_cases", "advice_season_cases")
        crops = coefficients.versions(db)
    weather = {name: days for name, days in found.items() if days is not None}
    ground = Ground(weather=weather, as_of=as_of, settings=settings, crops=crops)
    made = advise(sites, sources, ground, graded=False, executor=executor)
    return {**_tables(made, cases, fields, settings), "season_grade": season_grade(grown)}


def _tables(
    made: Advice, cases: pd.DataFrame, fields: pd.DataFrame, settings: Settings
) -> dict[str, pd.DataFrame]:
    outlook = made.outlook
    if len(outlook):
        outlook = shown_outlook(outlook, cases, settings)
    told = {*made.order["field"], *made.left_out["field"]}
    unread = fields.loc[~fields["field"].isin(told), ["field"]].assign(
        site=None, why="No probe reads this field. Import its site and readings."
    )
    return {
        "order": made.order, "plan": made.plan, "order_sources": made.sources,
        "outlook": outlook,
        "outlook_grade": grade(dressed(cases, settings)).rename(columns=_RENAMED),
        "order_left_out": pd.concat([made.left_out, unread], ignore_index=True),
        "order_inputs": _inputs(made),
        "season_windows": made.season_windows, "season_demand": made.season_demand,
    }  # fmt: skip


def _inputs(made: Advice) -> pd.DataFrame:
    rows = [("field", one.field, field_told(one)) for one in made.inputs.fields]
    rows += [("source", one.source, source_told(one)) for one in made.inputs.sources]
    if made.recharge is not None:
        rows.append(("recharge", "this store", json.dumps(asdict(made.recharge))))
    return pd.DataFrame(rows, columns=["kind", "name", "told"])


def field_areas(db: duckdb.DuckDBPyConnection) -> pd.DataFrame:
    """Every field with its irrigated area: as told, else its polygon's on the ellipsoid."""
    found = placed(statements.rows(db, "show_fields"))
    drawn = [
        abs(_ELLIPSOID.geometry_area_perimeter(one)[0]) / _M2_PER_HA for one in found.geometry
    ]
    told = found["irrigated_ha"].astype(np.float64)
    frame = pd.DataFrame(found.drop(columns="geometry"))
    return frame.assign(area_ha=told.where(told.notna(), drawn))


def sources_told(
    db: duckdb.DuckDBPyConnection, fields: pd.DataFrame, as_of: date, settings: Settings
) -> tuple[Source, ...]:
    """Give every source with the area it feeds and what of its allocation is spent."""
    table = statements.rows(db, "advice_sources")
    summed = fields.groupby("source")["area_ha"].sum()
    area = {str(name): float(ha) for name, ha in summed.items()}
    since = allocation_begins(as_of, settings)
    spent = statements.rows(db, "advice_spent", since=since, until=as_of)
    put = fields.merge(spent, on="field").merge(table[["source", "efficiency"]], on="source")
    share = put["efficiency"].fillna(settings.source_efficiency)
    used = (put["mm"] * put["area_ha"] * M3_PER_MM_HA / share).groupby(put["source"]).sum()
    known = table[table["capacity_l_s"].notna()]
    return sources_of(known, area, used.to_dict(), settings)


def _sites(
    db: duckdb.DuckDBPyConnection,
    arrived: tuple[Arrived, ...],
    fields: pd.DataFrame,
    as_of: date,
    settings: Settings,
) -> list[SiteAdviceInputs]:
    window = int(settings.water_known_days)
    layers = _rows(
        db, arrived, latest("readiness"), "advice_layers", date=as_of, window_days=window
    )
    layers = _latest(layers, as_of, window)
    limits = _rows(db, arrived, "limits", "advice_limits")
    tally = usual_winters(_rows(db, arrived, "tally", "advice_tally"))
    stations = statements.rows(db, "advice_stations")
    of = {str(row["field"]): row for row in fields.to_dict("records")}
    layers = layers.sort_values("depth_cm", kind="stable")
    layers_of = columns_by(layers, "site", [*_EDGES, "water_mm", "read_on", "held"])
    limits_of = columns_by(limits, "site", [str(one) for one in limits if one != "site"])
    tally_of = parted(tally, "site")
    texture_of = _textures(db)
    out = []
    longest = settings.longest_crop_d
    probes = statements.rows(db, "advice_sites", until=as_of, longest_crop_d=longest)
    for row in probes.to_dict("records"):
        site = str(row["site"])
        if site not in layers_of or site not in limits_of or row["field"] not in of:
            continue
        station = nearest(stations, row["latitude"], row["longitude"])
        past = tally_of.get(site, tally_of[""])
        own = (_layers(site, layers_of[site], texture_of, of[row["field"]]["soil"]),
               layers_of[site], limits_of[site], past)  # fmt: skip
        out.append(_site(row, of[row["field"]], station, *own, as_of, settings))
    return out


def _textures(db: duckdb.DuckDBPyConnection) -> dict[tuple[str, float], str]:
    told = statements.rows(db, "advice_textures").to_dict("records")
    return {(one["site"], round(one["depth_cm"], 2)): one["texture"] for one in told}


def _layers(
    site: str,
    own: dict[str, NDArray],
    texture_of: Mapping[tuple[str, float], str],
    soil: object,
) -> tuple[Layer, ...]:
    """Give a site's layers as they were assessed, with their textures, else the field's."""
    usual = soil if isinstance(soil, str) else None
    return tuple(
        Layer(site=site, depth_cm=depth, top_cm=top, bottom_cm=bottom,
              texture=texture_of.get((site, round(depth, 2)), usual))
        for depth, top, bottom in zip(*(own[name].tolist() for name in _EDGES), strict=True)
    )  # fmt: skip


def _site(  # noqa: PLR0917 - one argument a table it reads
    row: dict, field: dict, station: str | None, layers: tuple[Layer, ...],
    own: dict[str, NDArray], limits: dict[str, NDArray], tally: pd.DataFrame, as_of: date,
    settings: Settings,
) -> SiteAdviceInputs:  # fmt: skip
    site = str(row["site"])
    read_on = own["read_on"].astype("datetime64[D]")
    recent = read_on >= np.datetime64(as_of - timedelta(settings.water_known_days))
    last = max(read_on[~np.isnat(read_on)].tolist(), default=as_of)
    hole = latest_placement(limits, last)  # that in which the water was read
    points, thick = points_of(limits, layers, hole), thickness_mm(layers)
    water_mm = stood_in(
        own["water_mm"].astype(np.float64), points.full * thick, points.lower * thick, layers,
        recent=recent, least_share=settings.water_seen_least,
    )  # fmt: skip
    planted, crop, source = row["planted_on"], row["crop"], field["source"]
    standing, limit = row["standing"], field["root_limit_cm"]
    return SiteAdviceInputs(
        field=str(row["field"]), site=site, area_ha=float(field["area_ha"]), layers=layers,
        source=source if isinstance(source, str) and source else None,
        points=points, water_mm=water_mm,
        silent_cm=tuple(own["depth_cm"][~recent].tolist()),
        frozen_cm=max(own["bottom_cm"][recent & own["held"].astype(bool)], default=0.0),
        crop=crop if isinstance(crop, str) else None, station=station,
        planting=None if pd.isna(planted) else planted.date(),
        standing=standing if isinstance(standing, str) else None,
        tally=tally, root_limit_cm=None if pd.isna(limit) else float(limit),
    )  # fmt: skip


def _latest(layers: pd.DataFrame, as_of: date, window_days: int) -> pd.DataFrame:
    """Keep each site's latest layers, not older than the window."""
    if "zone" in layers:
        layers = layers[layers["zone"].isna() | (layers["zone"] == "layer")]
    day = pd.Timestamp(as_of)
    near = layers[
        (layers["date"] <= day) & (layers["date"] >= day - pd.Timedelta(days=window_days))
    ]
    return near[near["date"] == near.groupby("site")["date"].transform("max")]


def _rows(
    db: duckdb.DuckDBPyConnection, arrived: tuple[Arrived, ...], table: str, statement: str,
    **params: object,
) -> pd.DataFrame:  # fmt: skip
    """Rows of a result table: of sites just assessed those in hand, of others the kept ones."""
    kept = statements.rows(db, statement, **params)
    kept = kept[~kept["site"].isin([site for one in arrived for site in one.gives(table)])]
    new = [from_arrow(one.small[table]) for one in arrived if table in one.small]
    parts = [one for one in (kept, *new) if len(one)]
    return pd.concat(parts, ignore_index=True) if parts else kept
