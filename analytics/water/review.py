"""Which full points need a person, by what they may change; and which are sure enough."""

import numpy as np
import pandas as pd

from analytics.model import Floats
from analytics.settings import Settings
from analytics.units import EIGHT_IN_TEN

MM_PER_CM = 10.0
LAYER = ["site", "placement", "depth_cm"]
SECOND_OPINIONS = ("histogram", "season")


def reviewed(
    in_force: pd.DataFrame, candidates: pd.DataFrame, drift: pd.DataFrame, settings: Settings
) -> pd.DataFrame:
    """Say of each layer's full point what it may change, whether a person should look, and why.

    Parameters
    ----------
    in_force : DataFrame
        One row a layer: site, placement, depth_cm, top_cm, bottom_cm, value, sd (m3/m3), state,
        recorded, recorded_sd, recorded_state (the record's own point beside a set one), pinned.
    candidates : DataFrame
        site, placement, depth_cm, point, value, kind, on. May be empty.
    drift : DataFrame
        site, placement, depth_cm, point, beyond_noise. May be empty.
    settings : Settings

    Returns
    -------
    DataFrame
        ``in_force`` with apart (m3/m3: furthest second opinion, NaN where there is none),
        drifts, effect_mm, why ("" where no person is needed) and sure; largest effect first.

    Notes
    -----
    The effect is what the shortage would change by: thickness times the larger of the 8-in-10
    half width and the distance of the second opinions. Ours. A point is sure where the record
    has learned it, narrowly, no second opinion stands apart, and nothing drifts; one that a
    person pinned, or that was set to the learned value already, is not offered.
    """
    frame = in_force.reset_index(drop=True)
    apart = _apart(frame, candidates)
    drifts = _drifts(frame, drift)
    mm = (frame["bottom_cm"] - frame["top_cm"]).to_numpy(float) * MM_PER_CM
    width = EIGHT_IN_TEN * frame["sd"].to_numpy(float)
    effect = mm * np.fmax(width, np.nan_to_num(apart))
    why = _why(frame["state"], apart > settings.review_agree, drifts)
    why = np.where(effect < settings.review_effect_mm, "", why)
    found = frame.assign(apart=apart, drifts=drifts, effect_mm=effect, why=why)
    found["sure"] = _sure(found, settings)
    return found.sort_values("effect_mm", ascending=False, ignore_index=True)


def _apart(frame: pd.DataFrame, candidates: pd.DataFrame) -> Floats:
    """Distance of the second opinion furthest from the point, m3/m3; NaN where there is none.

    Of the histogram's peaks the nearest speaks, of the seasons the latest.
    """
    furthest = np.full(len(frame), np.nan)
    if candidates.empty:
        return furthest
    full = candidates[candidates["point"] == "full"]
    for kind in SECOND_OPINIONS:
        some = full[full["kind"] == kind]
        joined = (
            frame[[*LAYER, "value"]]
            .reset_index()
            .merge(some[[*LAYER, "value", "on"]], on=LAYER, suffixes=("", "_told"))
        )
        joined["away"] = (joined["value_told"] - joined["value"]).abs()
        by = "away" if kind == "histogram" else "on"
        ordered = joined.sort_values(by, ascending=kind == "histogram", na_position="last")
        first = ordered.drop_duplicates("index")
        at = first["index"].to_numpy(int)
        furthest[at] = np.fmax(furthest[at], first["away"].to_numpy(float))
    return furthest


def _drifts(frame: pd.DataFrame, drift: pd.DataFrame) -> np.ndarray:
    if drift.empty:
        return np.zeros(len(frame), dtype=bool)
    beyond = drift[drift["beyond_noise"].astype(bool) & (drift["point"] == "full")]
    told = pd.MultiIndex.from_frame(beyond[LAYER])
    return np.asarray(pd.MultiIndex.from_frame(frame[LAYER]).isin(told))


def _why(state: pd.Series, stands_apart: np.ndarray, drifts: np.ndarray) -> np.ndarray:
    """Say in one word why a person should look."""
    unsure = state.isin(["provisional", "not_yet_seen", "texture"]).to_numpy()
    learned = (state == "learned").to_numpy()
    why = np.where(learned & stands_apart, "apart", "")
    why = np.where(drifts, "drift", why)
    return np.where(unsure, state.to_numpy(object), why)


def _sure(found: pd.DataFrame, settings: Settings) -> pd.Series:
    """Tell where the learned point may be accepted unseen."""
    learned = found["recorded_state"].eq("learned") & ~found["drifts"]
    narrow = found["recorded_sd"] <= settings.review_sd
    agreed = ~(found["apart"] > settings.review_agree)
    open_ = found["state"].eq("learned")
    moved = found["set_id"].notna() & ~found["pinned"].astype(bool)
    return learned & narrow & agreed & (open_ | moved)
