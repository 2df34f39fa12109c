"""What each layer gave to a crop, how hard roots pulled, and by when they were done."""

import pandas as pd
import streamlit as st

from analytics.soil.extraction import FAO29_RULE, quarter_shares
from dashboard import state, words
from dashboard.charts.drydown import drydown
from dashboard.data import layer_points
from dashboard.views.parts import frame
from dashboard.views.parts.field_panels import show
from dashboard.views.parts.points_layer import Layer
from dashboard.views.parts.tables import table
from dashboard.words import points as said


def drydown_of(layer: Layer) -> None:
    """Show the dry-down of one season, chosen among those of this probe."""
    found = layer_points.extraction(layer.store, layer.site)
    if found.empty:
        frame.heading("What the roots took")
        frame.muted(said.NO_DRYDOWN)
        return
    left, right = st.columns([3, 1], vertical_alignment="center")
    with left:
        frame.heading("What the roots took, layer by layer")
    with right:
        planted = state.points.grown(_crops(found))
    rows = found[found["planted_on"] == pd.Timestamp(planted)]
    edges = layer_points.full_points(layer.store)
    edges = edges[edges["site"] == layer.site][["depth_cm", "top_cm", "bottom_cm"]]
    joined = rows.merge(edges, on="depth_cm").sort_values("depth_cm", ignore_index=True)
    if joined.empty:
        frame.muted(said.NO_DRYDOWN)
        return
    _shown(layer, joined)


def _crops(found: pd.DataFrame) -> dict[str, str]:
    """List the crops, latest harvest first: one still growing has not told its story yet."""
    by = ["harvested_on", "planted_on"]
    crops = found.drop_duplicates("planted_on").sort_values(
        by, ascending=False, na_position="last"
    )
    return {f"{row['planted_on']:%Y-%m-%d}": _crop(row) for row in crops.to_dict("records")}


def _crop(row: dict) -> str:
    name, end = str(row["crop"]).capitalize(), row["harvested_on"]
    if pd.isna(end):
        return f"{name} planted {row['planted_on'].year}"
    return f"{name} {end.year}"


def _shown(layer: Layer, rows: pd.DataFrame) -> None:
    left, right = st.columns([7, 4], gap="large")
    with left:
        told = f"What each of {words.counted(len(rows), 'layer')} gave, from the top"
        show(drydown(rows, layer.palette, layer.system), told)
        own = rows.loc[rows["depth_cm"] == layer.depth_cm, "driest"].dropna()
        if len(own):
            frame.muted(said.driest(layer.label, float(own.iloc[0])))
    with right:
        shares = quarter_shares(rows)
        if shares is None:
            frame.muted("Too little uptake is on record to share it out.")
            return
        names = ("Top quarter", "Second", "Third", "Lowest")
        depth = rows.loc[rows["rooted_on"].notna(), "bottom_cm"].max()
        table(["Of the root zone", "Took", "Rule of thumb"],
              [[name, words.percent(share), words.percent(rule)] for name, share, rule
               in zip(names, shares, FAO29_RULE, strict=True)])  # fmt: skip
        frame.muted(f"Rooted to {words.depth_text(depth, layer.system)}. {said.RULE}")
