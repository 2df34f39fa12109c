"""A crop that stands or stood, looked at from one of its days."""

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

import pandas as pd
import streamlit as st

from analytics.units import DEPTH, WATER, System, text
from analytics.water.ahead import Ahead, LastPass, Path, last_pass, offered, path
from analytics.water.depletion import parted_layer
from analytics.water.maturity import water_by_stage_mm
from analytics.water.news import Window, crop_window
from analytics.water.today import Supply, look_ahead
from dashboard import data, state, words
from dashboard.charts.depletion import root_zone_chart
from dashboard.charts.palette import Palette
from dashboard.charts.season import demand_and_capacity
from dashboard.data import growing
from dashboard.data.growing import Followed
from dashboard.views.parts import frame
from dashboard.views.parts.downloads import chart_makers, csv_text, take
from dashboard.views.parts.field_panels import show as draw
from dashboard.views.parts.tables import table
from dashboard.words import growing as said

LEAST_DAYS = 5
NAMES = ("hold", "run", "start")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Looked:
    """One crop on one day, and what each option brings."""

    store: data.Store
    row: dict[Any, Any]
    found: Followed
    ahead: Ahead | None
    paths: list[Path]
    window: Window
    left: LastPass | None
    field: str
    system: System

    @property
    def day(self) -> str:
        """Name files after the day."""
        return self.found.crop.last.isoformat()


def day_of(row: dict[Any, Any]) -> date:
    """Show the choice of a day of a crop."""
    first, last = (row[key].date() for key in ("planted_on", "until"))
    return state.season.on_day(min(first + timedelta(days=LEAST_DAYS), last), last)


def show(  # noqa: PLR0917 - the page hands over what it has chosen
    store: data.Store, top: Any, row: dict[Any, Any], day: date, name: str, system: System,
    rows: pd.DataFrame,
) -> None:  # fmt: skip
    """Show one crop from one day."""
    found = growing.look(store, row["site"], row["planted_on"].date(), day)
    if found is None:
        with top:
            frame.answer(f"{name}, {row['crop']}: nothing was read of it by then.", "", "")
        return
    over = day >= row["until"].date() and not row["open"]
    picture, below = st.container(), st.container()
    with below:
        left, right = st.columns([1, 1], gap="small")
    with left:
        looked = _looked(store, row, found, name, system, over=over)
    with right:
        if over:
            _gave(looked)
        elif looked.ahead is not None:
            _leave(looked)
    with top:
        _answer(looked, over=over)
    with picture:
        _picture(looked)
    _windows(looked)
    if _at_once(row, rows):
        frame.muted(said.TWO)


def _looked(
    store: data.Store, row: dict[Any, Any], found: Followed, name: str, system: System, *,
    over: bool,
) -> _Looked:  # fmt: skip
    """Show what was used, or what each choice brings; give all that the panels tell of."""
    crop, settings = found.crop, found.settings
    window = crop_window(crop, found.place, found.supply, settings)
    ahead = (
        None if over else look_ahead(crop, found.place, found.supply, found.error_mm, settings)
    )
    with st.container(border=True):
        paths = [] if ahead is None else _options(ahead, found.supply, system)
        left = None if ahead is None else last_pass(ahead, settings)
        looked = _Looked(store=store, row=row, found=found, ahead=ahead, paths=paths,
                         window=window, left=left, field=name, system=system)  # fmt: skip
        if over:
            _used(looked)
        elif ahead is None:
            frame.muted(said.NO_AHEAD)
        else:
            take(_named(looked), "choices", {"CSV": lambda: csv_text(_choices(looked))})
    return looked


def _options(ahead: Ahead, supply: Supply, system: System) -> list[Path]:
    """Show what holding, running and a start on a day bring."""
    frame.heading("What each choice brings")
    paths = [path(ahead, offered(ahead, None))]
    if ahead.water is not None:
        first, last = ahead.water
        start = state.season.start_day(first, last, min(first + timedelta(days=7), last))
        rows = (0, (start - ahead.day(0)).days)
        paths += [path(ahead, offered(ahead, one)) for one in rows]
    table(said.option_head(ahead), said.option_rows(ahead, paths, system))
    if over := said.over_allocation(max(one.given_mm for one in paths), supply, system):
        frame.muted(over)
    return paths


def _answer(looked: _Looked, *, over: bool) -> None:
    crop, system, row = looked.found.crop, looked.system, looked.row
    if over:
        lead = f"{looked.field}, {row['crop']} {row['planted_on']:%Y}"
        used = f"{said.short(row['use_mm'], system)} used"
        used = used if pd.notna(row["use_mm"]) else "what it used is not known"
        told = f"{lead}: {used}, {said.ENDED.get(row['ended'], '')}."
        frame.answer(told, said.account(row, system), "")
        return
    hold, run = [*looked.paths, None, None][:2]
    told = said.answer(crop, looked.field, hold, run, system)
    evidence = said.second(crop, looked.window, looked.found.supply, system)
    if looked.left is not None and looked.ahead is not None:
        more = said.enough(looked.left, looked.ahead, looked.window)
        evidence = f"{evidence} {more}".strip()
    frame.answer(told, evidence, "")


def _sentence(looked: _Looked) -> str:
    hold, run = [*looked.paths, None, None][:2]
    return said.answer(looked.found.crop, looked.field, hold, run, looked.system)


def _picture(looked: _Looked) -> None:
    crop, system = looked.found.crop, looked.system
    with st.container(border=True):
        note = f"{crop.season.crop}, planted {words.day_text(crop.season.planted_on)}"
        frame.heading("How short the roots are, by day", note)
        ahead = {} if looked.ahead is None else {
            name: _frame(looked.ahead, one)
            for name, one in zip(NAMES, looked.paths, strict=False)
        }  # fmt: skip

        def drawn(palette: Palette, width: int | str) -> Any:
            return root_zone_chart(crop.told, ahead, palette, system, width=width)

        draw(drawn(frame.palette(), "container"), _sentence(looked))
        frame.muted(f"{said.CHART} {said.BALANCE}")
        frame.muted(_parted(looked))
        frame.muted(said.grade(growing.grade(looked.store),
                               int(looked.store.settings.forecast_days), system))  # fmt: skip
        take(_named(looked), "root-zone", chart_makers(drawn, lambda: crop.told))


@dataclass(frozen=True, slots=True)
class Named:
    """What a file of this page is named after."""

    field: str
    day: str


def _named(looked: _Looked) -> Named:
    return Named(field=str(looked.row["field"]), day=looked.day)


def _frame(ahead: Ahead, one: Path) -> pd.DataFrame:
    days = pd.DatetimeIndex([ahead.day(row) for row in range(len(ahead))])
    return pd.DataFrame({"date": days, "low_mm": one.low_mm, "middle_mm": one.middle_mm,
                         "high_mm": one.high_mm, "ready_mm": ahead.ready_mm})  # fmt: skip


def _parted(looked: _Looked) -> str:
    crop, settings = looked.found.crop, looked.found.settings
    apart = float(crop.told["apart_mm"].iloc[-1])
    days = int(settings.part_days)
    if not abs(apart) >= settings.part_mm:
        return "" if pd.isna(apart) else said.agrees(days)
    layer = parted_layer(crop.grown, len(crop) - 1, settings)
    told = None if layer is None else (layer.depth_cm, layer.drier_mm)
    return said.parted(apart, days, told, looked.system)


def _leave(looked: _Looked) -> None:
    """Show the sum behind the last irrigation, and how the field is left."""
    left = looked.left
    assert looked.ahead is not None  # noqa: S101 - the caller looked
    assert left is not None  # noqa: S101 - it comes with what is ahead
    crop, system, settings = looked.found.crop, looked.system, looked.found.settings
    with st.container(border=True):
        frame.heading("The last irrigation, and how the field is left")
        if looked.ahead.water is not None:
            frame.muted(said.leave(left, looked.ahead, crop.matures_on, system))
        stage = water_by_stage_mm(crop.season.crop, len(looked.ahead))
        table(["", "Water"],
              said.leave_rows(left, looked.ahead, stage, settings.reliability,
                              system))  # fmt: skip
        if why := said.goes_short(left, looked.ahead):
            frame.muted(why)
        take(_named(looked), "last-irrigation", {"CSV": lambda: csv_text(_sum(left))})
        usual = growing.winter_gain_mm(looked.store, looked.found.place.site)
        frame.muted(said.room(left.harvest_mm, usual, system))


def _sum(left: LastPass) -> pd.DataFrame:
    return pd.DataFrame([left._asdict()])


def _choices(looked: _Looked) -> pd.DataFrame:
    """Lay every choice's days out, one under the other."""
    if looked.ahead is None:
        return pd.DataFrame()
    parts = [_frame(looked.ahead, one).assign(choice=name)
             for name, one in zip(NAMES, looked.paths, strict=False)]  # fmt: skip
    return pd.concat(parts, ignore_index=True)


def _used(looked: _Looked) -> None:
    """Show what a crop used."""
    row, system = looked.row, looked.system
    frame.heading("What the crop used", said.ENDED.get(row["ended"], ""))
    table(["", "Water"], said.account_rows(row, system), sums=1)
    frame.muted(said.ACCOUNT)
    take(_named(looked), "crop-water", {"CSV": lambda: csv_text(pd.DataFrame([row]))})


def _gave(looked: _Looked) -> None:
    """Show what each layer gave."""
    row, system = looked.row, looked.system
    with st.container(border=True):
        frame.heading("What each layer gave")
        gave = growing.extraction(looked.store, row["site"], row["planted_on"].date())
        unit = DEPTH.shown(system).unit
        table([f"Sensor, {unit}", "Gave", "Rooted on", "Drawn until"],
              [_line(one, system) for one in gave.to_dict("records")])  # fmt: skip
        take(_named(looked), "layers-gave", {"CSV": lambda: csv_text(gave)})


def _line(row: dict[Any, Any], system: System) -> list[str]:
    gave = "—" if pd.isna(row["gave_mm"]) else text(row["gave_mm"], WATER, system)
    return [
        text(row["depth_cm"], DEPTH, system), gave,
        words.day_text(row["rooted_on"], year=False),
        words.day_text(row["stopped_on"], year=False),
    ]  # fmt: skip


def _windows(looked: _Looked) -> None:
    demand, run, water = looked.window
    if demand.empty:
        return
    crop, supply = looked.found.crop, looked.found.supply
    with st.container(border=True):
        frame.heading("What the crop asks for, and what the source can give",
                      crop.season.crop)  # fmt: skip
        first, last = run or (None, None)
        window = {"capacity_mm_d": supply.capacity_mm_d, "run_from": first, "run_until": last,
                  "water_from": water.first, "water_until": water.last}  # fmt: skip
        told = said.open_words(crop.last, looked.window, supply)

        def drawn(palette: Palette, width: int | str) -> Any:
            return demand_and_capacity(demand, window, palette, looked.system, width=width)

        draw(drawn(frame.palette(), "container"), told)
        take(_named(looked), "demand", chart_makers(drawn, lambda: demand))


def _at_once(row: dict[Any, Any], rows: pd.DataFrame) -> bool:
    """Tell whether another crop stood in the field at the same time."""
    others = rows[(rows["site"] == row["site"]) & (rows["crop"] != row["crop"])]
    return bool(((others["planted_on"] < row["until"])
                 & (others["until"] > row["planted_on"])).any())  # fmt: skip
