"""The plain tables that Overwinter reads and writes: names, columns, units, keys.

One source for what intake checks, what the store creates and what the program promises.
Column names follow the trade; SI inside every file.
"""

from dataclasses import dataclass
from typing import Literal

Kind = Literal["text", "number", "integer", "date", "time", "flag", "shape"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """One column: ``low`` and ``high`` bound what is plausible, where anything is."""

    name: str
    kind: Kind
    required: bool = False
    unit: str = ""
    low: float | None = None
    high: float | None = None
    choices: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """One table. ``key`` names the columns that make a row unique."""

    name: str
    row: str
    columns: tuple[Column, ...]
    key: tuple[str, ...]
    role: Literal["people", "readings", "result"]

    def column(self, name: str) -> Column | None:
        """Find a column by name."""
        return next((one for one in self.columns if one.name == name), None)

    @property
    def names(self) -> tuple[str, ...]:
        """Column names in order."""
        return tuple(one.name for one in self.columns)


def _text(name: str, *, required: bool = False, choices: tuple[str, ...] = ()) -> Column:
    return Column(name=name, kind="text", required=required, choices=choices)


def _number(
    name: str,
    unit: str = "",
    low: float | None = None,
    high: float | None = None,
    *,
    required: bool = False,
) -> Column:
    return Column(name=name, kind="number", unit=unit, low=low, high=high, required=required)


def _date(name: str, *, required: bool = False) -> Column:
    return Column(name=name, kind="date", required=required)


def _whole(name: str, unit: str = "") -> Column:
    return Column(name=name, kind="integer", unit=unit)


def _flag(name: str) -> Column:
    return Column(name=name, kind="flag")


def _time(name: str, *, required: bool = False) -> Column:
    return Column(name=name, kind="time", required=required)


def _theta(name: str) -> Column:
    return _number(name, "m3/m3", 0.0, 0.8)


def _mm(name: str) -> Column:
    return _number(name, "mm")


def _depth(name: str = "depth_cm", *, required: bool = False) -> Column:
    return _number(name, "cm", 0.0, 1000.0, required=required)


PEOPLE = (
    Table(name="fields", row="a field, with its boundary", key=("field",), role="people",
          columns=(_text("field", required=True), _text("name"), _text("grower"),
                   _text("source"), _text("soil"),
                   _number("irrigated_ha", "ha", 0.0, 100_000.0),
                   Column(name="geometry", kind="shape", required=True),
                   _number("root_limit_cm", "cm", 10.0, 1000.0))),
    Table(name="sources", row="a water source", key=("source",), role="people",
          columns=(_text("source", required=True), _text("name"),
                   _number("capacity_l_s", "L/s", 0.0, 10_000.0),
                   _number("allocation_mm", "mm", 0.0, 5000.0),
                   _number("efficiency", "1", 0.01, 1.0),
                   _number("max_pass_mm", "mm", 0.1, 500.0),
                   _date("available_from"), _date("available_until"))),
    Table(name="sites", row="a probe's stay in one hole", key=("site", "installed_on"),
          role="people",
          columns=(_text("site", required=True), _text("field", required=True),
                   _number("latitude", "degrees", -90.0, 90.0, required=True),
                   _number("longitude", "degrees", -180.0, 180.0, required=True),
                   _text("timezone", required=True), _date("installed_on"),
                   _date("removed_on"))),
    Table(name="layers", row="a sensor of a probe", key=("site", "depth_cm"), role="people",
          columns=(_text("site", required=True), _depth(required=True), _depth("top_cm"),
                   _depth("bottom_cm"), _text("texture"), _theta("full"), _theta("refill"),
                   _theta("lower"), _date("limits_from"), _text("limits_by"),
                   _number("sand", "%", 0.0, 100.0), _number("silt", "%", 0.0, 100.0),
                   _number("clay", "%", 0.0, 100.0))),
    Table(name="seasons", row="a crop in a field", key=("field", "planted_on"), role="people",
          columns=(_text("field", required=True), _text("crop", required=True),
                   _date("planted_on", required=True), _date("harvested_on"),
                   _date("emerged_on"), _date("matured_on"))),
    Table(name="water", row="water that reached a field on a day",
          key=("field", "date", "kind"), role="people",
          columns=(_text("field", required=True), _date("date", required=True),
                   _text("kind", required=True, choices=("rain", "snow", "irrigation")),
                   _number("mm", "mm", 0.0, 1000.0, required=True))),
    Table(name="stations", row="a weather station", key=("station",), role="people",
          columns=(_text("station", required=True),
                   _number("latitude", "degrees", -90.0, 90.0, required=True),
                   _number("longitude", "degrees", -180.0, 180.0, required=True),
                   _number("elevation_m", "m", -500.0, 9000.0))),
    Table(name="weather", row="a station and day", key=("station", "date"), role="people",
          columns=(_text("station", required=True), _date("date", required=True),
                   _number("tmin_c", "C", -80.0, 60.0), _number("tmax_c", "C", -80.0, 60.0),
                   _number("rain_mm", "mm", 0.0, 1000.0), _number("snow_mm", "mm", 0.0, 1000.0),
                   _number("wind_m_s", "m/s", 0.0, 100.0),
                   _number("rs_mj_m2", "MJ/m2", 0.0, 60.0),
                   _number("tdew_c", "C", -80.0, 60.0),
                   _number("rh_min", "%", 0.0, 100.0), _number("rh_max", "%", 0.0, 100.0))),
    Table(name="landmarks", row="a road, canal or edge drawn behind the fields",
          key=("landmark",), role="people",
          columns=(_text("landmark", required=True),
                   _text("kind", choices=("road", "canal", "edge")), _text("name"),
                   Column(name="geometry", kind="shape", required=True))),
)  # fmt: skip

READINGS = Table(
    name="readings", row="a sensor at an instant", key=("site", "time", "depth_cm"),
    role="readings",
    columns=(_text("site", required=True), _time("time", required=True),
             _depth(required=True), _number("vwc", "m3/m3", required=True),
             _number("soil_temp_c", "C", -60.0, 80.0)),
)  # fmt: skip

RESULTS = (
    Table(name="readiness", row="a site, date and zone", role="result",
          key=("site", "date", "zone", "depth_cm"),
          columns=(_text("field"), _text("site"), _date("date"),
                   _text("zone", choices=("upper", "deep", "profile", "layer")), _depth(),
                   _depth("top_cm"), _depth("bottom_cm"), _mm("water_mm"), _mm("full_mm"),
                   _mm("lower_mm"), _mm("deficit_mm"), _mm("sd_mm"), _number("fill", "1"),
                   _text("class"), _number("class_probability", "1"),
                   _number("p_depleted", "1"), _number("p_low", "1"), _number("p_partial", "1"),
                   _number("p_near_full", "1"), _number("p_full", "1"),
                   _text("basis"), _text("headlines"), _number("seen", "1"), _flag("held"),
                   _date("last_full"), _date("read_on"), _mm("left_mm"))),
    Table(name="tally", role="result",
          row="a site, off-season and layer (depth_cm blank: whole profile)",
          key=("site", "from", "depth_cm"),
          columns=(_text("field"), _text("site"), _date("from"), _date("to"), _depth(),
                   _mm("start_mm"), _mm("end_mm"), _mm("change_mm"), _mm("gain_rain_mm"),
                   _mm("gain_snow_mm"), _mm("gain_irrigation_mm"), _mm("gain_thaw_mm"),
                   _mm("gain_unexplained_mm"), _mm("loss_mm"), _mm("drainage_mm"),
                   _mm("received_mm"), _number("storage_efficiency", "1"),
                   _whole("frozen_days", "d"), _number("coverage", "1"), _date("last_full"),
                   _text("crop"), _flag("open"), _depth("top_cm"), _depth("bottom_cm"),
                   _mm("largest_deficit_mm"), _mm("loss_up_mm"), _mm("loss_down_mm"),
                   _text("emptied_by"), _date("emptied_on"), _flag("standing"))),
    Table(name="wettings", row="a wetting", role="result", key=("site", "start"),
          columns=(_text("site"), _date("start"), _date("end"),
                   _text("cause", choices=("rain", "snow", "irrigation", "thaw",
                                           "unexplained")),
                   _mm("applied_mm"), _mm("stored_mm"), _depth("depth_reached_cm"),
                   _flag("bypass"), _number("storage_efficiency", "1"))),
    Table(name="wetting_layers", row="a wetting and a layer it reached", role="result",
          key=("site", "start", "depth_cm"),
          columns=(_text("site"), _date("start"), _depth(), _date("arrival"),
                   _number("rise", "m3/m3"), _mm("stored_mm"), _time("arrival_at"))),
    Table(name="limits", row="a version of a point", role="result",
          key=("site", "placement", "depth_cm", "point", "valid_from"),
          columns=(_text("site"), _whole("placement"), _depth(),
                   _text("point", choices=("full", "refill", "lower")),
                   _theta("value"), _number("sd", "m3/m3"),
                   _text("state", choices=("learned", "provisional", "not_yet_seen",
                                           "texture", "set")),
                   _date("valid_from"), _text("set_by"), _text("reason"), _whole("wettings"),
                   _flag("ponded"))),
    Table(name="gaps", row="an interval without good readings", role="result",
          key=("site", "depth_cm", "from"),
          columns=(_text("site"), _depth(), _time("from"), _time("to"), _text("reason"),
                   _number("hours", "h"))),
    Table(name="flags", row="a run of readings that carry a flag", role="result",
          key=("site", "depth_cm", "flag", "from"),
          columns=(_text("site"), _depth(), _text("flag"), _time("from"), _time("to"),
                   _whole("readings"))),
    Table(name="frost", row="a site, day and frozen zone", role="result",
          key=("site", "date", "top_cm"),
          columns=(_text("site"), _date("date"), _depth("top_cm"), _depth("bottom_cm"))),
    Table(name="uptake", row="a site, day and layer under a crop", role="result",
          key=("site", "date", "depth_cm"),
          columns=(_text("site"), _date("date"), _depth(), _number("mm", "mm"),
                   _flag("rooted"))),
    Table(name="daily", row="a site, layer and local day", role="result",
          key=("site", "depth_cm", "date"),
          columns=(_text("site"), _depth(), _date("date"), _whole("placement"),
                   _number("first", "m3/m3"), _number("last", "m3/m3"),
                   _number("low", "m3/m3"), _number("high", "m3/m3"),
                   _number("mean", "m3/m3"), _number("predawn", "m3/m3"),
                   _number("state", "m3/m3"), _number("temp_c", "C"), _whole("good"),
                   _flag("frozen"), _flag("held"))),
    Table(name="candidates", row="a value that a point might have", role="result",
          key=("site", "placement", "depth_cm", "point", "kind", "on", "value"),
          columns=(_text("site"), _whole("placement"), _depth(),
                   _text("point", choices=("full", "refill", "lower")), _theta("value"),
                   _text("kind", choices=("drained", "histogram", "season", "texture",
                                          "highest_kept", "lowest_kept", "uptake",
                                          "previous placement")),
                   _date("on"), _number("weight"))),
    Table(name="drift", row="a point that two seasons or more tell", role="result",
          key=("site", "placement", "depth_cm", "point"),
          columns=(_text("site"), _whole("placement"), _depth(),
                   _text("point", choices=("full", "refill", "lower")),
                   _number("slope_per_year", "m3/m3/a"), _number("low", "m3/m3/a"),
                   _number("high", "m3/m3/a"), _whole("seasons"), _flag("beyond_noise"))),
    Table(name="extraction", row="a site, crop and layer", role="result",
          key=("site", "planted_on", "depth_cm"),
          columns=(_text("field"), _text("site"), _text("crop"), _date("planted_on"),
                   _date("harvested_on"), _depth(), _mm("gave_mm"), _mm("uptake_mm"),
                   _number("peak_mm_d", "mm/d"), _date("rooted_on"), _date("stopped_on"),
                   _number("share", "1"), _whole("quarter"),
                   _number("driest", "m3/m3"))),
    Table(name="order", row="a field in the watering order", role="result", key=("field",),
          columns=(_text("field"), _text("source"), _whole("rank"), _mm("need_mm"),
                   _mm("target_mm"), _mm("net_mm"), _mm("gross_mm"),
                   _number("share_of_allocation", "1"), _mm("unfilled_mm"),
                   _date("latest_start_alone"), _number("queue_slack_days", "d"),
                   _text("reason"), _mm("stored_mm"), _number("hours", "h"),
                   _date("starts_on"), _date("ends_on"), _number("chance", "1"))),
    Table(name="plan", row="a field and day of watering", role="result",
          key=("field", "date"),
          columns=(_text("field"), _text("source"), _date("date"), _mm("net_mm"),
                   _mm("gross_mm"))),
    Table(name="order_sources", row="a source: what it can give of what is wanted",
          role="result", key=("source",),
          columns=(_text("source"), _number("area_ha", "ha"), _mm("wanted_mm"),
                   _mm("given_mm"), _date("by"), _text("limits"),
                   _number("extra_l_s", "L/s"), _mm("extra_allocation_mm"),
                   _number("given_m3", "m3"),
                   _number("hours", "h"), _number("share_of_allocation", "1"),
                   _number("queue_slack_days", "d"), _date("begin_by"))),
    Table(name="order_left_out", row="a probe or field that the order cannot judge",
          role="result", key=("field", "site"),
          columns=(_text("field"), _text("site"), _text("why"))),
    Table(name="order_inputs", row="a field, source or relation that the order rests on",
          role="result", key=("kind", "name"),
          columns=(_text("kind", choices=("field", "source", "recharge")), _text("name"),
                   _text("told"))),
    Table(name="outlook", row="a site and zone or layer: what lacks at planting",
          role="result", key=("site", "zone", "depth_cm"),
          columns=(_text("field"), _text("site"),
                   _text("zone", choices=("upper", "deep", "profile", "layer")), _depth(),
                   _mm("now_mm"), _mm("q10_mm"), _mm("q25_mm"), _mm("q50_mm"), _mm("q75_mm"),
                   _mm("q90_mm"), _mm("mean_mm"), _number("chance_full", "1"),
                   _whole("years"), _mm("low_mm"), _mm("likely_mm"), _mm("high_mm"),
                   _whole("errors"))),
    Table(name="outlook_grade", row="a kind of past forecast and a zone", role="result",
          key=("kind", "zone"),
          columns=(_text("kind", choices=("harvest", "now")), _text("zone"), _whole("n"),
                   _whole("winters"), _mm("bias_mm"), _mm("mean_abs_error_mm"),
                   _number("coverage_80", "1"),
                   _number("weather_coverage", "1"), _mm("balance_bias_mm"),
                   _mm("balance_error_mm"))),
    Table(name="season_windows", row="a field's coming season", role="result",
          key=("field",),
          columns=(_text("field"), _text("source"), _text("crop"), _date("planting"),
                   _date("ends_on"), _number("capacity_mm_d", "mm/d"),
                   _number("peak_mm_d", "mm/d"), _date("peak_on"), _date("run_from"),
                   _date("run_until"), _mm("bank_mm"), _whole("years"),
                   _date("water_from"), _date("water_until"))),
    Table(name="season_demand", row="a field and day of the coming season", role="result",
          key=("field", "date"),
          columns=(_text("field"), _date("date"), _number("low_mm_d", "mm/d"),
                   _number("middle_mm_d", "mm/d"), _number("high_mm_d", "mm/d"),
                   _number("sure_mm_d", "mm/d"))),
    Table(name="depletion", row="a crop at a probe, by day", role="result",
          key=("site", "planted_on", "date"),
          columns=(_text("site"), _date("planted_on"), _date("date"), _depth("root_cm"),
                   _number("kc", "1"), _mm("eto_mm"), _mm("demand_mm"), _mm("water_mm"),
                   _mm("probe_mm"), _mm("balance_mm"), _mm("alone_mm"), _mm("drained_mm"),
                   _number("stress", "1"), _mm("available_mm"), _mm("ready_mm"),
                   _number("pace", "1"), _mm("apart_mm"))),
    Table(name="crop_water", row="a crop at a probe: what it used", role="result",
          key=("site", "planted_on"),
          columns=(_text("field"), _text("site"), _text("crop"), _date("planted_on"),
                   _date("until"), _flag("open"), _text("ended"), _mm("rain_mm"),
                   _mm("irrigation_mm"), _mm("soil_mm"), _mm("drained_mm"), _mm("use_mm"),
                   _mm("demand_mm"), _mm("expected_mm"), _whole("short_days", "d"),
                   _mm("deficit_mm"), _number("seen", "1"))),
    Table(name="season_cases", row="a past forecast of a crop's root zone", role="result",
          key=("site", "kind", "from"),
          columns=(_text("site"), _date("planted_on"),
                   _text("kind", choices=("corrected", "alone")), _date("from"), _date("to"),
                   _mm("forecast_mm"), _mm("low_mm"), _mm("high_mm"), _mm("happened_mm"),
                   _mm("own_weather_mm"))),
    Table(name="season_grade", row="a way to forecast a crop's root zone", role="result",
          key=("kind",),
          columns=(_text("kind", choices=("corrected", "alone")), _whole("n"),
                   _whole("seasons"), _mm("bias_mm"), _mm("mean_abs_error_mm"),
                   _number("coverage_80", "1"), _number("weather_coverage", "1"),
                   _mm("balance_bias_mm"), _mm("balance_error_mm"))),
    Table(name="news", row="something that needs a person", role="result",
          key=("field", "kind", "since"),
          columns=(_text("field"), _text("site"),
                   _text("kind", choices=("silent", "no_answer", "parted", "refill", "open",
                                          "run", "last_pass")),
                   _date("since"), _date("on"), _number("figure"), _depth())),
    Table(name="forecasts", row="a past forecast of a site and zone", role="result",
          key=("site", "kind", "from", "zone"),
          columns=(_text("site"), _text("kind"), _date("from"), _date("to"), _text("zone"),
                   _mm("forecast_mm"), _mm("low_mm"), _mm("high_mm"), _mm("happened_mm"),
                   _mm("own_weather_mm"))),
)  # fmt: skip

TABLES = {table.name: table for table in (*PEOPLE, READINGS, *RESULTS)}
