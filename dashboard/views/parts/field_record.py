"""The record of each layer, with what went down through it, what was frozen and what failed."""

from typing import Any

import pandas as pd

from dashboard import data, words
from dashboard.charts.layer_record import layer_record
from dashboard.views.parts import frame, spans
from dashboard.views.parts.field_facts import Shown
from dashboard.views.parts.field_pictures import picture

LEAST_MM = 5.0
"""A wetting that stored less is not drawn through the record; ours."""
MOST_FRONTS = 24
"""More lines than this hide the record; those that stored most are drawn; ours."""
LEAST_GAP = pd.Timedelta(days=7)
LONG_VIEW = pd.Timedelta(days=500)


def record(shown: Shown, start: str) -> None:
    """Show the record of each layer since a day."""
    frame.heading("The record of each layer", f"since {words.day_text(start)}")
    points = data.record(shown.store, shown.site, start, shown.day)
    if points["value"].notna().sum() == 0:
        frame.muted(words.EMPTY_DATE)
        return
    frame.muted(
        "Full line, refill dotted, lower thin; full dashed where unsure. Dots and dashes: "
        "frozen, value held. Slanting lines: water on its way down. Ticks: readings set aside."
    )
    fronts, faults = fronts_of(shown, start), _faults(shown, start)
    limits = data.limits(shown.store, shown.site)
    seasons = spans.strip(shown.seasons, start, shown.day)
    told = (
        f"Water content of {words.counted(points['depth_cm'].nunique(), 'layer')} since "
        f"{words.day_text(start)}; {words.counted(fronts['start'].nunique(), 'wetting')} "
        "on the way down"
    )
    picture(
        shown, "record", told,
        lambda palette, width: layer_record(
            points, limits, faults, seasons, palette, shown.system, fronts=fronts, width=width
        ),
        lambda: points, start,
    )  # fmt: skip


def fronts_of(shown: Shown, start: str) -> pd.DataFrame:
    """Give the larger wettings, layer by layer, as the record draws them."""
    whole = data.wettings(shown.store, shown.site, start, shown.day)
    whole = whole[whole["stored_mm"] >= LEAST_MM].nlargest(MOST_FRONTS, "stored_mm")
    year = pd.Timestamp(shown.day) - pd.Timestamp(start) > LONG_VIEW
    told = {one["start"]: _told(one, shown, year=year) for one in whole.to_dict("records")}
    layers = data.wetting_layers(shown.store, shown.site, start, shown.day)
    some = layers[layers["start"].isin(told)]
    hour = some["arrival_at"] if "arrival_at" in some else some["arrival"]
    when = _wall(shown, hour).fillna(some["arrival"])
    return pd.DataFrame({
        "start": some["start"], "time": when, "depth_cm": some["depth_cm"],
        "stored_mm": [told[one][0] for one in some["start"]],
        "told": [told[one][1] for one in some["start"]],
        "label": [told[one][2] for one in some["start"]],
    })  # fmt: skip


def _told(one: dict[Any, Any], shown: Shown, *, year: bool) -> tuple[float, str, str]:
    told = words.wetting_told(one, shown.system)
    return float(one["stored_mm"]), told, words.wetting_label(one, year=year)


def _wall(shown: Shown, times: pd.Series) -> pd.Series:
    """Bring instants to the site's wall time; days are left as they are."""
    if getattr(times.dtype, "tz", None) is None:
        return times
    zone = shown.probe["timezone"].iloc[-1]
    return times.dt.tz_convert(zone).dt.tz_localize(None)


def _faults(shown: Shown, start: str) -> pd.DataFrame:
    """Give flagged spans, and the longer gaps that frost did not make."""
    flags = data.flags(shown.store, shown.site, start, shown.day)
    gaps = data.gaps(shown.store, shown.site, start, shown.day)
    begun = pd.Timestamp(shown.first_day) + LEAST_GAP  # not what came before the record
    silent = gaps[(gaps["to"] - gaps["from"] >= LEAST_GAP) & (gaps["to"] > begun)]
    silent = silent[silent["reason"] != "frozen"]
    both = [flags, silent.assign(flag="gap")[["depth_cm", "flag", "from", "to"]]]
    return pd.concat([one for one in both if len(one)] or [flags], ignore_index=True)
