"""What the page Points reads of each layer's points, and how it changes them."""

from dataclasses import replace
from datetime import date
from pathlib import Path

import pandas as pd
import streamlit as st

from analytics.store import points
from analytics.store.assessment import Progress
from analytics.store.points import SetPoint
from analytics.water.review import reviewed
from dashboard.data import Store, _ask, _day, _read, assessed, lent, whole


def full_points(store: Store) -> pd.DataFrame:
    """Give every layer's full point as `analytics.water.review` judges it."""
    return lent(_full_points(str(store.path), store.generation, repr(store.settings), store))


@st.cache_resource(max_entries=8, show_spinner=False)
def _full_points(path: str, generation: str, settings: str, _store: Store) -> pd.DataFrame:
    del path, generation, settings  # parts of the key only
    return reviewed(_read(_store, "show_full_points"), whole(_store, "candidates"),
                    whole(_store, "drift"), _store.settings)  # fmt: skip


def versions(store: Store, site: str) -> pd.DataFrame:
    """Give every version of every point of one site, in all its placements."""
    return _ask(store, "show_versions", site)


def candidates(store: Store, site: str) -> pd.DataFrame:
    """Give what else one site's points might be; empty where nothing is known."""
    return _of_site(whole(store, "candidates"), site)


def drift(store: Store, site: str) -> pd.DataFrame:
    """Give the drift of one site's points."""
    return _of_site(whole(store, "drift"), site)


def extraction(store: Store, site: str) -> pd.DataFrame:
    """Give what each layer gave to each crop of one site."""
    return _of_site(whole(store, "extraction"), site)


def set_points(store: Store, site: str) -> pd.DataFrame:
    """Give every version that a person set at one site, those taken back too, latest first."""
    return _ask(store, "show_set_points", site)


def layer_days(store: Store, site: str, depth_cm: float) -> pd.DataFrame:
    """Give one layer's daily values: time, placement, value, low, high."""
    return _ask(store, "show_layer_days", site, depth_cm=depth_cm)


def layer_histogram(
    store: Store, site: str, depth_cm: float, placement: int, step: float
) -> pd.DataFrame:
    """Give how many days one layer stood at each water content: low, days."""
    return _ask(store, "show_layer_histogram", site, depth_cm=depth_cm,
                 placement=placement, step=step)  # fmt: skip


def preview(store: Store, point: SetPoint) -> pd.DataFrame:
    """Give the latest readiness rows of a site as they would be with one more set point.

    Raises
    ------
    InputRefused
        When the point could not be saved for what it says.
    """
    unsigned = replace(point, set_by="", reason="")
    return _preview(str(store.path), store.generation, unsigned, _day(store))


@st.cache_data(max_entries=32, show_spinner=False)
def _preview(path: str, generation: str, point: SetPoint, day: date) -> pd.DataFrame:
    del generation
    return points.preview(Path(path), point, day)


def holds_from(store: Store, site: str) -> date:
    """Give the day from which a new set point holds: the store's, or a later version's."""
    latest = versions(store, site)["valid_from"].max()
    return max(_day(store), latest.date()) if pd.notna(latest) else _day(store)


def set_all(
    store: Store, several: list[SetPoint], tell: Progress, *, over: int | None = None
) -> dict[str, str]:
    """Keep set points and assess their sites at once; give a sentence for each that failed.

    ``tell`` is given the share done and the site just finished; ``over`` is the number of the
    set version that the person saw hold, as `points.save` takes it.
    """
    points.save(store.path, several, over=over)
    return assessed(store, tell)


def take_back(store: Store, number: int, by: str, why: str, tell: Progress) -> dict[str, str]:
    """Take a set point back and assess its site at once, as `set_all` does."""
    points.take_back(store.path, number, by, why)
    return assessed(store, tell)


def _of_site(frame: pd.DataFrame, site: str) -> pd.DataFrame:
    return frame[frame["site"] == site] if len(frame) else frame
