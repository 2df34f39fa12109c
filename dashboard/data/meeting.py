"""What the growers' meeting reads. What is masked is masked here: no page sees the names."""

from dataclasses import dataclass, replace

import pandas as pd

from analytics.report.mask import letters_of, masked
from dashboard.data import Store, _read, going_in, layers, whole
from dashboard.data.received import received

ROWS = ["field", "name", "site", "last_crop", "growing", "deep_deficit_mm", "sd_mm", "class",
        "upper_deficit_mm", "upper_fill", "fill", "basis", "change_mm", "fell_mm",
        "floor_cm"]  # fmt: skip
LAYERS = ["site", "zone", "top_cm", "bottom_cm", "water_mm", "full_mm", "lower_mm", "fill",
          "class", "basis", "held", "left_mm"]  # fmt: skip
ORDER = ["field", "rank", "net_mm", "starts_on", "latest_start_alone", "unfilled_mm"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Walk:
    """The district as it is shown to a room, shortest first; by letter where masked.

    ``rows`` has one row a field, ``layers`` those of their probes, ``order`` the watering
    order. ``rows["letter"]`` is what this deal calls a field, whether it is named or not.
    ``unmasked`` tells whether the grower asked for was found.
    """

    rows: pd.DataFrame
    layers: pd.DataFrame
    order: pd.DataFrame
    unmasked: bool


def walk(store: Store, day: str, *, names: bool, deal: str, grower: str) -> Walk:
    """Read the walk; unless ``names``, fields are letters but for those of ``grower``."""
    rows = going_in(store, day, "deep")
    rows = rows.merge(received(store, day), on="field", how="left")
    soil = layers(store, day)
    deepest = rows["site"].map(soil.groupby("site")["bottom_cm"].max())
    rows["floor_cm"] = deepest.clip(upper=rows["root_limit_cm"])
    own = {one for one in rows["grower"].dropna() if one.casefold() == grower.casefold()}
    kept = {"rows": rows[ROWS], "layers": soil[LAYERS],
            "order": whole(store, "order")[ORDER]}  # fmt: skip
    told = {"fields": pd.DataFrame(whole(store, "fields")), "sites": whole(store, "sites"),
            "sources": whole(store, "sources")}  # fmt: skip
    letters = letters_of(told, deal=deal)
    if not names:
        hidden = masked({**told, **kept}, unmask=own, deal=deal)
        kept = {name: hidden[name] for name in kept}
    named = rows if names else rows[rows["grower"].isin(own)]
    called = {one: letters[one] for one in named["field"]}  # the others are letters by now
    kept["rows"] = kept["rows"].assign(letter=kept["rows"]["field"].replace(called))
    return Walk(
        rows=kept["rows"].sort_values("deep_deficit_mm", ascending=False, na_position="last"),
        layers=kept["layers"], order=kept["order"].sort_values("rank", na_position="last"),
        unmasked=bool(own),
    )  # fmt: skip


def only(whole: Walk, letters: list[str]) -> Walk:
    """Leave only some fields in the walk; the order keeps its ranks."""
    rows = whole.rows[whole.rows["letter"].isin(letters)]
    return replace(
        whole, rows=rows, order=whole.order[whole.order["field"].isin(rows["field"])]
    )


def begun(store: Store) -> str:
    """Give the day that the meeting looks at: the latest, ISO."""
    return f"{_read(store, 'show_dates')['date'].iloc[0]:%Y-%m-%d}"
