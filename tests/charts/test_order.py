"""The order's picture, its words, the calendar file and the valve page."""

import json
import re
from datetime import UTC, date, datetime
from typing import Any
from xml.etree import ElementTree as ET

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analytics.report import ics, valves
from analytics.units import System
from dashboard.charts.order import OrderRow, Totals, order_figure
from dashboard.charts.order_compared import Pair, compared_figure
from dashboard.charts.palette import DARK, LIGHT, Palette
from dashboard.views.parts.order_panels import source_rows
from dashboard.words import order as said
from dashboard.words import sources as source_words

TODAY = date(2025, 2, 24)
TOTALS = Totals(share="38 %", unfilled="39.7 ac-ft", quarter=0.25)
NS = "{http://www.w3.org/2000/svg}"


def a_row(**own: Any) -> OrderRow:
    told: dict[str, Any] = {
        "rank": "1", "name": "Brindle 7", "detail": "corn · 7.3 in short", "core": (),
        "net_mm": 145.0, "stays_mm": 134.0, "target_mm": 134.0, "short_mm": 185.0,
        "latest": date(2025, 4, 5), "planting": date(2025, 5, 2), "share": 0.067,
        "blocks": ((date(2025, 3, 3), date(2025, 3, 4)), (date(2025, 3, 8), date(2025, 3, 22))),
        "dry_off": date(2025, 4, 22), "unfilled_mm": 0.0,
        "frozen": ((date(2025, 3, 5), date(2025, 3, 7)),),
    }  # fmt: skip
    return OrderRow(**{**told, **own})


def drawn(*rows: OrderRow, palette: Palette = LIGHT, system: System = "in") -> ET.Element:
    picture = order_figure(rows, TODAY, TOTALS, system, palette)
    assert "nan" not in picture
    return ET.fromstring(picture)  # noqa: S314 - drawn here


def boxes(root: ET.Element, fill: str) -> list[tuple[float, float]]:
    return [(float(one.get("x", "0")), float(one.get("width", "0")))
            for one in root.iter(f"{NS}rect") if one.get("fill") == fill]  # fmt: skip


def words_of(root: ET.Element) -> list[str]:
    return ["".join(one.itertext()) for one in root.iter(f"{NS}text")]


def test_a_row_says_all_its_columns() -> None:
    words = words_of(drawn(a_row()))
    for one in ("1", "Brindle 7", "corn · 7.3 in short", "5.7 in", "5 Apr", "3–22 Mar", "7 %",
                "none", "38 %", "39.7 ac-ft", "today"):  # fmt: skip
        assert one in words


def test_a_name_hides_no_day_on_which_the_source_is_off() -> None:
    block = ((date(2025, 3, 22), date(2025, 3, 23)),)
    early: dict[str, Any] = {"blocks": block, "planting": date(2025, 4, 10),
                             "dry_off": date(2025, 4, 1), "frozen": ()}  # fmt: skip
    shut = ((TODAY, date(2025, 3, 20)),)
    late = a_row(planting=date(2025, 5, 20))
    places = [
        float(next(one.get("x", "") for one in drawn(row, late).iter(f"{NS}text")
                   if "".join(one.itertext()) == "22–23 Mar"))
        for row in (a_row(**early), a_row(**early, shut=shut))
    ]  # fmt: skip
    off, width = boxes(drawn(a_row(**early, shut=shut), late), "url(#unfilled)")[0]
    assert places[0] < off + width < places[1]


def test_bars_stand_in_the_proportion_of_their_water() -> None:
    root = drawn(a_row(stays_mm=100.0, net_mm=200.0, target_mm=100.0, short_mm=200.0))
    bars = [one for one in boxes(root, LIGHT.highlight) if one[0] == 330.0]
    assert bars[1][1] == pytest.approx(2 * bars[0][1], rel=1e-3)


def test_unfilled_water_is_a_hatched_outline() -> None:
    full, part = drawn(a_row()), drawn(a_row(stays_mm=40.0, unfilled_mm=94.0))
    assert len(boxes(part, "url(#unfilled)")) == len(boxes(full, "url(#unfilled)")) + 1
    assert "3.7 in" in words_of(part)


def test_days_stand_on_one_scale() -> None:
    root = drawn(a_row())
    first, second = [one for one in boxes(root, LIGHT.highlight) if 684 < one[0] < 1178][:2]
    assert second[1] == pytest.approx(7.5 * first[1], rel=1e-3)  # 15 days and 2
    per_day = first[1] / 2
    assert second[0] - first[0] == pytest.approx(5 * per_day, rel=1e-3)  # 3 to 8 March


def test_no_latest_start_is_a_dash_without_brackets() -> None:
    root = drawn(a_row(latest=None, share=float("nan")))
    assert "—" in words_of(root)
    assert "none set" in words_of(root)


def test_names_are_escaped_and_dark_is_drawn_in_its_own_colours() -> None:
    root = drawn(a_row(name="<b>&</b>"), palette=DARK, system="mm")
    assert "<b>&</b>" in words_of(root)
    assert "145 mm" in words_of(root)
    assert boxes(root, DARK.highlight)
    assert not boxes(root, LIGHT.highlight)


def test_two_plans_side_by_side_mark_what_differs() -> None:
    block = ((date(2025, 3, 3), date(2025, 3, 9)),)
    later = ((date(2025, 3, 10), date(2025, 3, 16)),)
    pairs = [
        Pair(name="Same", now=block, then=block, now_unfilled_mm=0.0, then_unfilled_mm=0.0,
             differs=False),
        Pair(name="Moved", now=block, then=later, now_unfilled_mm=0.0, then_unfilled_mm=25.4,
             differs=True),
    ]  # fmt: skip
    picture = compared_figure(pairs, TODAY, date(2025, 5, 1), "in", LIGHT)
    root = ET.fromstring(picture)  # noqa: S314 - drawn here
    assert words_of(root).count("▸") == 1
    assert len(boxes(root, LIGHT.highlight)) == 1
    assert "1.0 in" in words_of(root)
    assert "1 differ" in root.get("aria-label", "")


# --- words ----------------------------------------------------------------------------------


def an_order(*rows: tuple[str, str, float, str | None, float]) -> pd.DataFrame:
    frame = pd.DataFrame(rows, columns=["name", "code", "net_mm", "starts_on", "unfilled_mm"])
    return frame.assign(
        starts_on=pd.to_datetime(frame["starts_on"]), rank=np.arange(1, len(frame) + 1),
        reason=[json.dumps({"code": one}) for one in frame["code"]],
        unfilled_m3=frame["unfilled_mm"] * 10.0 * 40.468564224,  # a hundred acres each
    )  # fmt: skip


def test_the_answer_of_the_issue() -> None:
    order = an_order(
        ("Brindle 7", "water", 145, "2025-03-03", 0), ("Hask 4", "water", 140, "2025-03-03", 0),
        ("Corrie 12", "water", 90, "2025-04-06", 0),
        ("Pellam NW", "water_part", 35, "2025-04-18", 63),
        ("Teasel 5", "not_reached", 0, None, 58),
    )  # fmt: skip
    wanted = (
        "Start Brindle 7 and Hask 4 on Monday 3 March; Pellam NW and Teasel 5 will stay short."
    )
    assert said.answer(order) == wanted
    sources = pd.DataFrame({"name": ["North wells"], "share_of_allocation": [0.38]})
    second = said.second(order, sources, 1900 / 15.850323, "in")
    assert second == (
        "North wells, 1,900 gpm, fills 3 of 5 fields to target before planting and spends 38 % "
        "of the season’s allocation. 39.7 ac-ft stay unfilled."  # 121 mm = 4.764 in on 100 ac
    )


def test_answers_at_the_edges() -> None:
    assert said.answer(an_order()) == said.NOTHING
    one = an_order(("Hask 4", "water", 140, "2025-03-03", 0))
    assert said.answer(one) == "Start Hask 4 on Monday 3 March; it reaches its target."
    none = an_order(("Hask 4", "not_reached", 0, None, 9))
    assert (
        said.answer(none) == "No field can be watered before planting; Hask 4 will stay short."
    )


def test_a_source_that_can_pump_nothing_leaves_its_fields_short() -> None:
    order = an_order(
        ("Hask 4", "no_capacity", 0, None, 58), ("Corrie 12", "none_needed", 0, None, 0)
    )
    order["rank"] = pd.Series([None, None], dtype="Int64")
    assert said.answer(order) == (
        "No field can be watered before planting; Hask 4 will stay short."
    )
    sources = pd.DataFrame({"name": ["North wells"], "share_of_allocation": [0.0]})
    told = said.second(order, sources, 0.0, "in")
    assert told.startswith("North wells, 0 gpm, fills 0 of 1 field to target before planting")
    assert told.endswith(". 19.0 ac-ft stay unfilled.")  # 58 mm = 2.283 in on 100 ac


def test_what_lies_within_the_target_s_rounding_is_not_unfilled() -> None:
    order = an_order(
        ("Hask 4", "water", 90, "2025-03-03", 0.8), ("B", "water_part", 9, None, 5)
    )
    assert [said.lacking_mm(row) for row in order.to_dict("records")] == [0.0, 5.0]


def test_a_field_that_starts_and_stays_short_is_not_one_of_the_others() -> None:
    short = [(f"Short {at}", "water_part", 40.0, f"2025-03-{at + 3:02}", 6.0)
             for at in range(1, 9)]  # fmt: skip
    upper = ("Upper Dunnet", "water_part", 46.0, "2025-03-03", 6.0)
    hask = ("Hask 4", "water", 90.0, "2025-03-03", 0.0)
    one = an_order(upper, *short)
    assert said.answer(one) == (
        "Start Upper Dunnet on Monday 3 March; it and 8 others will stay short."
    )
    two = an_order(hask, upper, *short)
    assert said.answer(two).endswith(
        "on Monday 3 March; 1 of them and 8 others will stay short."
    )
    full = an_order(hask, *short)
    assert said.answer(full).endswith("Monday 3 March; 8 others will stay short.")
    none = an_order(*[(name, "not_reached", 0.0, None, 9.0) for name, *_ in short])
    assert said.answer(none) == (
        "No field can be watered before planting; 8 fields will stay short."
    )


def test_a_field_with_hardly_anything_to_put_on_is_not_named() -> None:
    order = an_order(("Quillet 1", "water", 0.9, "2025-03-01", 0),
                     ("Hask 4", "water", 90, "2025-03-03", 0))  # fmt: skip
    assert said.answer(order, 2.5).startswith("Start Hask 4 on Monday 3 March")
    assert said.answer(order.head(1), 2.5).startswith("Start Quillet 1 on Saturday 1 March")


@pytest.mark.parametrize(("shares", "would", "whose"), [
    ([0.5] * 7 + [0.1] * 16, "7 of 23 fields would", "their"),
    ([0.5] + [0.1] * 22, "1 of 23 fields would", "its"),
    ([0.1] * 23, "None of 23 fields would", "their"),
    ([0.1, np.nan], "None of 1 field would", "its"),
])  # fmt: skip
def test_a_quarter_is_of_the_sources_allocation(
    shares: list[float], would: str, whose: str
) -> None:
    told = said.quarter_words(pd.Series(shares), 0.25)
    take = f"take more than a quarter of what the season’s allocation gives {whose} own area"
    assert told.startswith(f"{would} {take}. Tick on each bar:")


def test_what_cannot_be_met_is_said_plainly() -> None:
    source = {
        "name": "Well 2", "limits": "capacity", "given_mm": 1.4 * 25.4, "wanted_mm": 3.1 * 25.4,
        "by": date(2025, 5, 1), "extra_l_s": 180 / 15.850323,
        "extra_allocation_mm": float("nan"),
    }  # fmt: skip
    wanted = "Well 2 can put on 1.4 of the 3.1 in by 1 May; add 180 gpm."
    assert source_words.unmet(source, "in") == wanted
    source |= {"extra_l_s": float("nan")}
    assert source_words.unmet(source, "in") == "Well 2 can put on 1.4 of the 3.1 in by 1 May."
    both = source_words.unmet({**source, "limits": "allocation,capacity"}, "in")
    assert both.endswith("by 1 May; neither more capacity nor more allocation alone would do.")
    assert source_words.unmet({**source, "limits": ""}, "in") == ""


def test_slack_is_counted_from_the_plan() -> None:
    source = {"name": "North wells", "begin_by": date(2025, 3, 12)}
    assert source_words.slack(source, date(2025, 3, 3)) == (
        "North wells may begin 9 days later, on Wednesday 12 March, before more stays unfilled."
    )
    assert "may not begin later than" in source_words.slack(source, date(2025, 3, 12))
    assert source_words.slack({**source, "begin_by": None}, None).endswith("nothing to put on.")


def wells(count: int) -> pd.DataFrame:
    """Sources a day apart of which each second one falls short, the later ones by more."""
    short = np.arange(count) % 2 == 1
    return pd.DataFrame({
        "source": [f"w{at}" for at in range(count)],
        "name": [f"Well {at}" for at in range(count)],
        "limits": np.where(short, "capacity", ""), "wanted_mm": 3.0 * 25.4,
        "given_mm": np.where(short, 3.0 - np.arange(count) / 10, 3.0) * 25.4,
        "by": pd.Timestamp("2025-05-01"), "extra_allocation_mm": np.nan,
        "extra_l_s": np.where(short, 180 / 15.850323, np.nan),
        "share_of_allocation": np.arange(count) / 10,
        "begin_by": pd.date_range("2025-03-03", periods=count).where(np.arange(count) != 4),
    })  # fmt: skip


def planned(count: int) -> pd.Series:
    return pd.Series(pd.Timestamp("2025-03-03"), [f"w{at}" for at in range(count) if at != 4])


def test_few_sources_are_told_of_one_by_one_and_of_many_their_count() -> None:
    few, many = wells(3), wells(6)
    assert source_words.unmet_words(few, "in") == [
        source_words.unmet(few.loc[1].to_dict(), "in")
    ]
    assert source_words.unmet_words(many, "in") == [
        "3 of 6 sources fall short of what their fields want."
    ]
    assert source_words.unmet_words(many.assign(limits=""), "in") == []
    each = " ".join(source_words.slack(row, date(2025, 3, 3)) for row in few.to_dict("records"))
    assert source_words.slack_words(few, planned(3)) == each
    assert source_words.slack_words(many, planned(6)) == (
        "1 of the 5 sources that water before planting may not begin later than planned, or "
        "more stays unfilled."
    )
    all_late, none_late = many.assign(begin_by=date(2025, 3, 3)), many.iloc[1:]
    assert source_words.slack_words(all_late, planned(6)) == (
        "None of the 5 sources that water before planting may begin later than planned, or "
        "more stays unfilled."
    )
    assert source_words.slack_words(none_late, planned(6)) == (
        "Each of the 4 sources that water before planting may begin later than planned before "
        "more stays unfilled."
    )
    none = many.assign(begin_by=np.full(6, None))
    assert source_words.slack_words(none, planned(6)) == "No source has anything to put on."
    order = an_order(("Hask 4", "water", 140, "2025-03-03", 0))
    assert "spend 0 % at Well 0, 10 % at Well 1, 20 % at Well 2." in said.second(
        order, few, 0.0, "in"
    )
    assert "spend 0 % at Well 0 to 50 % at Well 5." in said.second(order, many, 0.0, "in")


def test_what_was_spent_before_is_told_with_the_day_it_is_counted_from() -> None:
    since = date(2025, 7, 1)
    lead = "Spent of the season’s allocation before, since 1 Jul 2025: "
    few = {"North wells": 0.351, "Canal": 0.0, "Free well": float("nan")}
    assert source_words.spent_words(few, since) == f"{lead}35 % at North wells, 0 % at Canal."
    many = {f"Well {at}": at / 10 for at in range(6)}
    assert source_words.spent_words(many, since) == f"{lead}0 % to 50 % by source."
    assert source_words.spent_words({"Canal": 0.004, "Free well": float("nan")}, since) == ""
    assert source_words.spent_words({}, since) == ""


def test_many_sources_stand_in_a_table_the_shortest_first() -> None:
    head, rows = source_rows(wells(6), planned(6), "in")
    assert [row[0] for row in rows] == [
        "Well 5",
        "Well 3",
        "Well 1",
        "Well 0",
        "Well 2",
        "Well 4",
    ]
    assert dict(zip(head, rows[0], strict=True)) == {
        "Source": "Well 5", "Puts on, in": "2.5", "Of wanted, in": "3.0",
        "Spends of allocation": "50 %", "First day": "3 Mar", "May begin by": "8 Mar",
        "What would fill all": "180 gpm more",
    }  # fmt: skip
    assert rows[-1][4:] == ["—", "—", "—"]
    assert source_rows(wells(6), planned(6), "mm")[1][0][-1] == "11 L/s more"


def test_a_reason_says_whose_water_stands_in():
    def why(silent, system):
        facts = {"code": "none_needed", "why": {"code": "full", "silent_cm": silent}}
        return said.reason({"reason": json.dumps(facts)}, system)

    assert why([], "in") == "The soil lacks nothing."
    assert why([120.0], "in") == (
        "The soil lacks nothing. The sensor at 47 in is silent; its layer is taken for as full "
        "as the next."
    )
    assert "The sensors at 30, 60 and 90 cm are silent" in why([60.0, 30.0, 90.0], "mm")
    facts = {"code": "none_needed", "why": {"code": "full", "frozen_cm": 40.0}}
    assert said.reason({"reason": json.dumps(facts)}, "mm") == (
        "The soil lacks nothing. The ground is frozen to 40 cm: no water on it yet."
    )
    assert "at 30 and 60 cm are" in why([60.0, 30.0], "mm")


@pytest.mark.parametrize(("limits", "flow", "allocation", "takes"), [
    ("", np.nan, np.nan, "—"),
    ("capacity", 10.0, np.nan, "159 gpm more"),
    ("allocation", np.nan, 25.4, "1.0 in more allocation"),
    ("capacity,allocation", 10.0, 25.4, "159 gpm more or 1.0 in more allocation"),
    ("capacity,allocation", np.nan, np.nan, "neither flow nor allocation alone"),
    ("days", np.nan, np.nan, "neither flow nor allocation alone"),
])  # fmt: skip
def test_a_source_that_nothing_alone_would_help_is_not_told_like_one_that_lacks_nothing(
    limits: str, flow: float, allocation: float, takes: str
) -> None:
    source = {"limits": limits, "extra_l_s": flow, "extra_allocation_mm": allocation}
    assert source_words.takes(source, "in") == takes


@pytest.mark.parametrize(("code", "why", "words"), [
    ("water", "bank", "Rain would not have brought it in 8 of 10 past winters; alone it must"),
    ("water", "bank", " start by 5 Apr. The season asks for more than the source can give"),
    ("water_part", "ceiling", "1.0 in stays unfilled."),
    ("not_reached", "", "Its turn does not come before planting."),
    ("no_source", "", "No source feeds it; 2.0 in would be worth storing."),
    ("allocation_spent", "", "Its source’s allocation is spent; 2.0 in would be worth"),
    ("keeps_too_little", "", "So wet that most of the water would not stay; leave it."),
    ("none_needed", "ceiling", "It stands at the ceiling already"),
    ("none_needed", "full", "The soil lacks nothing."),
])  # fmt: skip
def test_every_reason_is_a_sentence(code: str, why: str, words: str) -> None:
    row = {"reason": json.dumps({"code": code, "why": {"code": why}}), "chance": 0.81,
           "latest_start_alone": date(2025, 4, 5), "unfilled_mm": 25.4,
           "target_mm": 50.8}  # fmt: skip
    assert words in said.reason(row, "in")


def test_what_settles_every_target_is_said_once_and_not_in_every_line() -> None:
    def order(*codes: str) -> pd.DataFrame:
        reasons = [json.dumps({"code": "water", "why": {"code": one}}) for one in codes]
        return pd.DataFrame({"reason": reasons, "chance": 0.8, "unfilled_mm": 0.0,
                             "latest_start_alone": date(2025, 4, 5)})  # fmt: skip

    alike = order("ceiling", "ceiling")
    once = said.settled(alike)
    assert said.OF_ALL[once] == "Every target stops at the ceiling, to leave room for rain."
    row = alike.to_dict("records")[0]
    assert said.reason(row, "in", once=once).endswith("; alone it must start by 5 Apr.")
    assert said.reason(row, "in").endswith(
        " The target stops at the ceiling, to leave room for rain."
    )
    for other in (order("ceiling"), order("ceiling", "bank"), order(), order("", "")):
        assert not said.settled(other)


@pytest.mark.parametrize(("code", "other", "words"), [
    ("water_part", 0.85, "lack of water: corn 1.25, cotton 0.85 (FAO-56, Table 24"),
    ("not_reached", 1.4, "lack of water: cotton 1.4, corn 1.25 ("),
    ("water_part", 1.25, ""), ("water", 0.85, ""),
])  # fmt: skip
def test_what_crops_weigh_is_told_where_there_is_not_water_for_all(
    code: str, other: float, words: str
) -> None:
    reasons = [
        {"code": "water", "why": {"crop": "corn", "worth": 1.25}},
        {"code": code, "why": {"crop": "cotton", "worth": other}},
        {"code": "none_needed"},
    ]
    told = said.weights(pd.DataFrame({"reason": [json.dumps(one) for one in reasons]}))
    assert words in told
    assert bool(told) == bool(words)
    early = pd.DataFrame({"reason": ['{"code": "water_part", "why": {}}']})
    assert not said.weights(early), "worked out before crops weighed"


def test_a_grade_is_told_with_its_number() -> None:
    grade = pd.DataFrame([{"kind": "now", "zone": "profile", "n": 173, "winters": 7,
                           "bias_mm": 1.65, "mean_abs_error_mm": 12.2,
                           "coverage_80": 0.857}])  # fmt: skip
    words = said.grade_words(grade, "mm")
    assert "173 past forecasts made as long before planting as today, of 7 winters" in words
    assert "2 mm drier than it came, 12 mm off" in words
    assert "held 148 of 173 times." in words
    few = grade.assign(n=5, coverage_80=0.4)
    assert "held 2 of 5 times, so it is too narrow here." in said.grade_words(few, "mm")
    assert said.grade_words(grade.head(0), "mm").startswith("No past off-season")


def test_a_little_water_is_never_nought() -> None:
    assert said.little(0.4, "in") == "under 0.1 in"
    assert said.little(0.4, "mm") == "under 1 mm"
    assert said.little(25.4, "in") == "1.0 in"


# --- the calendar file ----------------------------------------------------------------------


def parsed(words: str) -> list[dict[str, str]]:
    """Read events back: unfold, split at the colon, undo escapes (RFC 5545, 3.1, 3.3)."""
    assert words.endswith("\r\n")
    assert "\n" not in words.replace("\r\n", "")
    lines = words.replace("\r\n ", "").split("\r\n")
    events: list[dict[str, str]] = []
    for line in lines:
        name, _, value = line.partition(":")
        if line == "BEGIN:VEVENT":
            events.append({})
        elif events and not name.startswith(("BEGIN", "END")):
            plain = re.sub(r"\\(.)", lambda m: "\n" if m[1] in "nN" else m[1], value)
            events[-1][name] = plain
    return events


STAMP = datetime(2025, 2, 24, 12, 0, tzinfo=UTC)


@given(st.text(st.characters(exclude_categories=("Cc", "Cs", "Zl", "Zp")), max_size=120))
def test_any_text_comes_back_whole_from_short_lines(title: str) -> None:
    event = ics.Event(uid="u-1", first=TODAY, last=TODAY, title=title + "x\nsecond; a, b\\")
    words = ics.calendar([event], "Order", STAMP)
    assert all(len(line.encode()) <= 75 for line in words.split("\r\n"))
    assert parsed(words)[0]["SUMMARY"] == title + "x\nsecond; a, b\\"


def test_an_event_is_whole_days_and_ends_the_day_after() -> None:
    event = ics.Event(
        uid="hask-4-20250303@overwinter.invalid", first=date(2025, 3, 3),
        last=date(2025, 3, 31), title="Water Hask 4", note="n", place="p",
    )  # fmt: skip
    words = ics.calendar([event], "Order", STAMP)
    assert words.startswith("BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:")
    (found,) = parsed(words)
    assert found["DTSTART;VALUE=DATE"] == "20250303"
    assert found["DTEND;VALUE=DATE"] == "20250401"  # RFC 5545, 3.6.1: not inclusive
    assert found["DTSTAMP"] == "20250224T120000Z"
    assert found["UID"] == "hask-4-20250303@overwinter.invalid"


def test_the_valve_page_stands_by_itself_and_escapes() -> None:
    turn = valves.Turn(field="A & <B>", source="Well", depth="0.31 in net", hours="24.0 h")
    days = [valves.Day(name="Monday 3 March", turns=(turn,)), valves.Day(name="Tue", turns=())]
    words = valves.page("Water", "Next", days, ("Caution",))
    assert "A &amp; &lt;B&gt;" in words
    assert "No water." in words
    assert "@media print" in words
    assert not re.search(r"(src|href)=|https?:", words)


def test_crops_that_stand_on_the_same_sources_are_told() -> None:
    one = source_words.standing_words({"Canal": 1, "Well 2": 2})
    assert one.startswith("Crops stand on 1 field of Canal, 2 fields of Well 2.")
    many = source_words.standing_words(dict.fromkeys("abcd", 2))
    assert many.startswith("Crops stand on 8 fields of 4 of these sources.")
    assert source_words.standing_words({}) == ""
