"""Tarrow Flats: thirty-six invented fields, four growers, three well groups, two stations."""

from dataclasses import dataclass
from functools import cache

import geopandas as gpd
import numpy as np
from shapely.geometry import LineString, Point, Polygon, box

TIMEZONE = "America/Chicago"
STANDARD_OFFSET_H = 6
ORIGIN_LAT, ORIGIN_LON = 37.16, -101.62  # north-west corner of the grid: a nominal spot
MILE_M = 1609.344
RADIUS_M = 400.0
METRIC_CRS = "EPSG:32614"


@dataclass(frozen=True, slots=True, kw_only=True)
class Plot:
    """One field: column and row count half miles from the north-west corner."""

    site: str
    field: str
    name: str
    grower: str
    source: str
    column: int
    row: int
    shape: str
    texture: str
    subsoil: str
    change_cm: float
    plan: str
    vigour: float
    intake: float
    gauge: bool
    spacing: str


GROWERS = {"Q": "Quenby Land", "H": "Harrowmere", "T": "Tolver Reach", "O": "Ostrey & Vane"}
SOILS = {
    "a": ("silt loam", "silt loam", 200.0),
    "b": ("silt loam", "clay loam", 60.0),
    "c": ("clay loam", "clay loam", 200.0),
    "d": ("loam", "loam", 200.0),
    "e": ("loam", "clay loam", 75.0),
    "f": ("sandy loam", "loam", 50.0),
    "g": ("sandy loam", "sandy loam", 200.0),
}
SOURCES = {"n": "north", "b": "bench", "s": "south", "-": ""}

# name | grower source soil shape sensors gauge | column row | crops harvested 2019-2026
# | share of its allocation used | share of storms that soaks in
_ROWS = """
Sallow East|Q n c o t -|1 0|SSSSSSSC|0.35|0.22
Lower Dunnet|Q n a o t -|4 0|CCSCCCCC|0.6|1
Upper Dunnet|Q n a o e g|6 0|CSFWFCSC|0.7|1
Orrin 1|H b d o t -|8 0|KKCKKCKC|0.92|1
Orrin 2|H b d o x g|12 0|CCSCKCWC|0.35|1
Brindle 7|Q n a o t g|2 1|CCCWFCCC|0.35|1
Brindle 8|Q n b o t -|7 1|CSCSCSFC|0.8|1
Tansel NE|H b f o e -|11 1|KKKCKKKK|0.68|1
Tansel SE|H b g o e g|13 1|CKKCKKCK|0.5|1
Corrie 12|Q n a o t g|3 2|CKCWFCCC|0.35|1
Windle 3|T n b o t -|5 2|SCSCSFWS|0.58|1
Garrow 5|H b d o t -|9 2|CKCKCCWC|0.7|1
Garrow 6|H b e o x -|12 3|CCKCCKCC|0.78|1
Hask 4|Q n c o t g|1 3|CKKCKCKK|0.85|1
Ottery 2|O s a o t -|7 3|CCCCCCCC|0.8|1
Hask 5|Q n b o e -|2 4|CSFWSCSC|0.9|1
Pellam NW|T n a o t g|4 4|SCSCFWKK|0.8|1
Pellam SE|T n d o t -|6 4|KCKCKCKC|0.65|1
Mossel 1|H b d o x g|9 4|CFWFCSFC|1|1
Ansel 6|H b e o e -|10 4|CCSCCSWC|0.5|1
Teasel 5|T n b o t -|0 5|KKCKCKKK|0.7|1
Teasel Home|T n b r t g|1 5|SFWSFWSC|0.66|1
Teasel 6|T n a o e -|3 5|FWFCFWFW|0.2|1
Quillet 1|O s d o t -|8 5|CCCCCKCC|0.68|1
Quillet 2|O s f o x g|13 5|KCKCKCFK|1|1
Quarrel Flat|O s a o t -|5 6|CSCCSCSC|0.6|1
Little Ottery|O s a o e g|3 7|CSWFCWSW|0.6|1
Ottery 3|O s d o t -|7 7|CCKCCKCC|0.76|1
Vennel 10|O s e o t -|10 7|CWFCSFWC|0.28|1
Marl Bench|H b a o t g|11 6|CKCKCCCC|0.5|1
Marl East|H b d o x -|13 7|CCWFCWFC|1|1
Rushey 4|T - b o e g|1 8|WFWFSFWS|0|1
Rushey 5|T s d o t -|5 8|KCKKCKCK|0.7|1
Dobbin W|O s d h t g|8 8|CFWFCCFC|1|1
Penrow 3|O s a h t -|9 8|CCKCKKCK|0.72|1
Penrow 4|O s d o x -|12 8|KCSFKCSC|0.53|1
"""

SENSORS = {
    "t": tuple(float(d) for d in range(10, 121, 10)),
    "x": (10.0, 20.0, 30.0, 40.0, 50.0, 60.0, 75.0, 90.0, 105.0, 120.0),
    "e": (15.0, 30.0, 45.0, 60.0, 75.0, 90.0, 105.0, 120.0),
}


def _plot(number: int, row: str) -> Plot:
    name, letters, place, plan, vigour, intake = row.split("|")
    grower, source, soil, shape, spacing, gauge = letters.split()
    column, line = (int(part) for part in place.split())
    top, below, change_cm = SOILS[soil]
    return Plot(
        site=f"TF{number:02d}", field=name.lower().replace(" ", "-"), name=name,
        grower=GROWERS[grower], source=SOURCES[source], column=column, row=line, shape=shape,
        texture=top, subsoil=below, change_cm=change_cm, plan=plan, vigour=float(vigour),
        intake=float(intake), gauge=gauge == "g", spacing=spacing,
    )  # fmt: skip


DISTRICT: tuple[Plot, ...] = tuple(
    _plot(number, row) for number, row in enumerate(_ROWS.strip().splitlines(), start=1)
)
"""The fields, north to south; one probe each."""

SITE_INDEX = {plot.site: index for index, plot in enumerate(DISTRICT)}

STATIONS = (("TARROW-N", 3.2, 1.1, 962.0), ("TARROW-S", 4.1, 3.6, 948.0))
"""Weather stations: name, miles east, miles south, elevation [m]."""

WELLS = (
    ("north", "North wells", 120.0, 260.0, 0.88, 32.0, "2026-03-24"),
    ("bench", "Bench wells", 215.0, 360.0, 0.90, 38.0, "2026-02-01"),
    ("south", "South wells", 260.0, 420.0, 0.92, 30.0, "2026-02-01"),
)
"""Sources: id, name, capacity [L/s], allocation [mm], efficiency, largest pass [mm], first day.

A pump of the north wells is out for repair until late March: they cannot do it all in time.
"""


def depths_of(plot: Plot) -> tuple[float, ...]:
    """List a probe's sensor depths [cm], shallowest first."""
    return SENSORS[plot.spacing]


@cache
def _corner_m() -> tuple[float, float]:
    point = gpd.GeoSeries([Point(ORIGIN_LON, ORIGIN_LAT)], crs="EPSG:4326").to_crs(METRIC_CRS)
    return float(point.x.iloc[0]), float(point.y.iloc[0])


def spot_m(east_miles: float, south_miles: float) -> tuple[float, float]:
    """Place a point of the mile grid in metres of the metric projection."""
    x_m, y_m = _corner_m()
    return x_m + east_miles * MILE_M, y_m - south_miles * MILE_M


def centre_m(plot: Plot) -> tuple[float, float]:
    """Give the centre of a field's quarter section in metres."""
    return spot_m((plot.column + 0.5) / 2, (plot.row + 0.5) / 2)


def outline_m(plot: Plot) -> Polygon:
    """Draw a field in metres: circle, northern half circle or block."""
    x_m, y_m = centre_m(plot)
    if plot.shape == "r":
        return box(x_m - 390, y_m - 390, x_m + 390, y_m + 390)
    half = plot.shape == "h"
    angles = np.linspace(0.0, np.pi if half else 2 * np.pi, 65)[: None if half else -1]
    ring = zip(x_m + RADIUS_M * np.cos(angles), y_m + RADIUS_M * np.sin(angles), strict=True)
    return Polygon(list(ring))


def fields() -> gpd.GeoDataFrame:
    """Lay out the fields table of the data contract, in WGS 84."""
    table = gpd.GeoDataFrame(
        {
            "field": [plot.field for plot in DISTRICT],
            "name": [plot.name for plot in DISTRICT],
            "grower": [plot.grower for plot in DISTRICT],
            "source": [plot.source or None for plot in DISTRICT],
            "soil": [plot.texture for plot in DISTRICT],
        },
        geometry=[outline_m(plot) for plot in DISTRICT],
        crs=METRIC_CRS,
    )
    return table.to_crs("EPSG:4326")


def area_ha(plot: Plot) -> float:
    """Give a field's area [ha]."""
    return outline_m(plot).area / 1e4


def landmarks() -> gpd.GeoDataFrame:
    """Draw what stands behind the fields: mile roads, the canal, the district's edge."""
    roads = [(f"Mile road {9 + row}", (0, row), (7, row)) for row in (1, 3)]
    roads += [(f"County line {col}", (col, 0), (col, 4.5)) for col in (2, 5)]
    canal_miles = [(0, 4), (1, 3.97), (1.8, 3.8), (2.6, 3.45), (3.1, 3.1), (3.7, 3.0),
                   (4.3, 3.01), (5.0, 3.0), (5.6, 2.65), (6.2, 2.25), (7, 2.02)]  # fmt: skip
    edge = [(0, 0), (7, 0), (7, 4.5), (0, 4.5), (0, 0)]
    lines = [(name, "road", [a, b]) for name, a, b in roads]
    lines += [("Tarrow canal", "canal", canal_miles), ("Tarrow Flats", "edge", edge)]
    return gpd.GeoDataFrame(
        {
            "landmark": [name.lower().replace(" ", "-") for name, _, _ in lines],
            "kind": [kind for _, kind, _ in lines],
            "name": [name for name, _, _ in lines],
        },
        geometry=[LineString([spot_m(*point) for point in path]) for _, _, path in lines],
        crs=METRIC_CRS,
    ).to_crs("EPSG:4326")


def nearest_station(plot: Plot) -> int:
    """Find the station nearest to a field, by its number."""
    x_m, y_m = centre_m(plot)
    far = [np.hypot(*np.subtract(spot_m(e, s), (x_m, y_m))) for _, e, s, _ in STATIONS]
    return int(np.argmin(far))
