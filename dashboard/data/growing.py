"""What the season's page and the landing page read of crops that stand or stood."""

from datetime import date
from pathlib import Path
from typing import Any

import pandas as pd
import streamlit as st

from analytics.soil.offseason import usual_winters
from analytics.store import coefficients, connection, dismissals
from analytics.store.assessment import Progress
from analytics.store.crops import Followed, followed
from analytics.water.demand import Crop
from analytics.water.growth import plain_name
from dashboard.data import Store, _read, assessed, kept, whole


def crops(store: Store, field: str) -> pd.DataFrame:
    """Give every crop of one field that a probe tells of, a standing one first, then latest."""
    rows = whole(store, "crop_water")
    own = rows[rows["field"] == field]
    return own.sort_values(["open", "planted_on", "site"], ascending=[False, False, True],
                           ignore_index=True)  # fmt: skip


def fields_followed(store: Store) -> list[str]:
    """Give the ids of fields with a crop that a probe tells of."""
    return sorted(set(whole(store, "crop_water")["field"]))


def standing(store: Store) -> pd.DataFrame:
    """Give every crop that stands: field, crop, how short, refill point; least room first."""
    return _read(store, "show_standing")


def look(store: Store, site: str, planted_on: date, day: date) -> Followed | None:
    """Follow one crop up to a day, with what was known then; kept until the store changes."""
    return _look(str(store.path), store.generation, site, planted_on, day)


@st.cache_resource(max_entries=64, show_spinner=False)
def _look(
    path: str, generation: str, site: str, planted_on: date, day: date
) -> Followed | None:
    del generation
    return followed(Path(path), site, planted_on, day)


def extraction(store: Store, site: str, planted_on: date) -> pd.DataFrame:
    """Give what each layer gave to one crop."""
    rows = whole(store, "extraction")
    mine = (rows["site"] == site) & (rows["planted_on"] == pd.Timestamp(planted_on))
    return rows[mine].sort_values("depth_cm", ignore_index=True)


def winter_gain_mm(store: Store, site: str) -> float:
    """Give what a winter usually puts back at a probe: the middle of those on record.

    A gap of days between one crop's harvest and the next one's planting is none.
    """
    rows = whole(store, "tally")
    closed = usual_winters(rows[rows["site"] == site])
    return float(closed["change_mm"].median()) if len(closed) else float("nan")


def grade(store: Store) -> pd.DataFrame:
    """Give how past forecasts of root zones did."""
    return whole(store, "season_grade")


def news(store: Store) -> pd.DataFrame:
    """Give what needs a person and was not put aside, newest first."""
    rows = whole(store, "news")
    if rows.empty:
        return rows
    aside = dismissals.listed(store.path)[["field", "kind", "since"]].assign(aside=True)
    if aside.empty:
        return rows.sort_values("since", ascending=False, ignore_index=True)
    told = rows.merge(aside.drop_duplicates(), on=["field", "kind", "since"], how="left")
    left = told[told["aside"].isna()].drop(columns="aside")
    return left.sort_values("since", ascending=False, ignore_index=True)


def put_aside(store: Store, row: dict[Any, Any], author: str, reason: str) -> None:
    """Put one word aside.

    Raises
    ------
    InputRefused
        When author or reason is blank.
    """
    dismissals.put_aside(
        store.path, row["field"], row["kind"], row["since"].date(), author=author,
        reason=reason,
    )  # fmt: skip


def coefficients_of(store: Store, crop: str, field: str) -> Crop | None:
    """Give the coefficients that hold for a crop in a field."""
    return coefficients.in_force(store.path, crop, field)


def crops_without_coefficients(store: Store) -> dict[str, list[str]]:
    """Give the crops that nothing can be reckoned of, each with the fields it is told of."""
    return kept.once(store, ("crops without coefficients",), lambda: _lacking(store))


def _lacking(store: Store) -> dict[str, list[str]]:
    with connection.reading(store.path) as db:
        return coefficients.lacking(db)


def coefficient_versions(store: Store, crop: str) -> pd.DataFrame:
    """Give every version that a person set for a crop, newest first."""
    rows = coefficients.history(store.path)
    return rows[rows["crop"] == plain_name(crop)].reset_index(drop=True)


def set_coefficients(  # noqa: PLR0917 - as the store takes them
    store: Store, crop: str, field: str, told: Crop, author: str, reason: str, tell: Progress
) -> dict[str, str]:
    """Keep a version and work everything out anew; give what could not be.

    Raises
    ------
    InputRefused
        When author or reason is blank, or a figure is not plausible.
    """
    coefficients.save(store.path, crop, field, told, author=author, reason=reason)
    return assessed(store, tell)


def drop_coefficients(store: Store, number: int, author: str, tell: Progress) -> dict[str, str]:
    """Take a version back and work everything out anew."""
    coefficients.undo(store.path, number, author)
    return assessed(store, tell)
