"""The sentences that head the pages: which rows they count, and in what words."""

from typing import Any

import pandas as pd

from analytics.model import Bools
from analytics.units import MM_PER_INCH, System
from dashboard import data, words
from dashboard.views.parts.district import District

STEP_MM = {"in": MM_PER_INCH / 2, "mm": 10.0}
LEAST_SHARE = 0.25
"""The line drawn in the district's sentence leaves at least so many fields above it; ours."""
SURE = 0.6
"""A class less probable than this is shown with the next probable one; ours."""


def line_mm(deficits_mm: pd.Series, system: System) -> float:
    """Draw the line of the district's sentence.

    The largest whole step (half an inch, or 10 mm) that at least a quarter of the fields are
    short by, and never less than one step, so that the sentence parts the fields.
    """
    step = STEP_MM[system]
    known = deficits_mm.dropna()
    if known.empty:
        return step
    return max(float(known.quantile(1 - LEAST_SHARE) // step) * step, step)


def district(shown: District) -> tuple[str, str, str]:
    """Answer for the fields that the filters leave: sentence, evidence, what it rests on."""
    rows, system, zone = shown.kept, shown.system, shown.zone
    if rows.empty:
        return words.EMPTY_FILTER, words.EMPTY_FILTER_DO, ""
    standing, told = of_the_season(rows)
    known = told[told["deficit_mm"].notna()]
    over = line_mm(known["deficit_mm"], system)
    short = known[known["deficit_mm"] > over]
    answer = words.district_answer(
        short=len(short),
        of=len(known),
        over_mm=over,
        system=system,
        zone=zone,
        split_cm=shown.split_cm,
        chosen=len(rows) < len(shown.every),
        standing=standing,
    )
    wet = short["upper_fill"] >= shown.store.settings.wet_fill
    second = words.district_second(
        wet_on_top=int(wet.sum()) if zone == "deep" else 0,
        worst=known.iloc[0]["name"] if len(known) else None,
        worst_mm=known.iloc[0]["deficit_mm"] if len(known) else None,
        system=system,
        short=len(short),
        left_out=len(rows) - len(told),
        **_commonest(short["source_name"]),
    )
    return answer, second, _rests(rows, shown.day)


def _rests(rows: pd.DataFrame, day: str) -> str:
    known = rows[rows["deficit_mm"].notna()]
    return words.district_rests(
        read_on=rows["read_on"].max(),
        as_of=day,
        silent=int((known["seen"] < 1).sum()),
        held=int(known["held"].astype("boolean").fillna(value=False).sum()),
        unknown=len(rows) - len(known),
    )


def _commonest(sources: pd.Series) -> dict[str, Any]:
    counts = sources.dropna().value_counts()
    if counts.empty:
        return {"source": None, "source_count": 0}
    return {"source": str(counts.index[0]), "source_count": int(counts.iloc[0])}


def line_of(row: dict[Any, Any], system: System) -> str:
    """Say a field's first headline, or its class where nothing stands out."""
    told = data.headlines(row["headlines"])
    if told:
        return words.headline_sentence(told[0], system)
    return words.class_name(row["class"] if isinstance(row["class"], str) else None)


def told_of(row: dict[Any, Any], system: System) -> list[str]:
    """Say every headline of a field, most urgent first."""
    return [words.headline_sentence(one, system) for one in data.headlines(row["headlines"])]


def rests_of(row: dict[Any, Any], system: System) -> str:
    """Say how sure a field's figure is, and what its full point rests on."""
    within = words.within_words(row["sd_mm"], system)
    return f"{within[0].upper()}{within[1:]}. {words.basis_note(row['basis'])}"


TELL_CROP = ("next_crop", "growing", "last_crop")
"""Columns of which ``crop_of`` reads a field's crop."""


def crop_of(row: dict[Any, Any]) -> str | None:
    """Name the crop a field goes into: the next one, else the one that grows."""
    if isinstance(row["next_crop"], str):
        return row["next_crop"]
    return standing_of(row)


def stands_in(rows: pd.DataFrame) -> Bools:
    """Tell in which fields a crop stands."""
    return rows["growing"].astype("boolean").fillna(value=False).to_numpy(bool)


def of_the_season(rows: pd.DataFrame) -> tuple[bool, pd.DataFrame]:
    """Give the fields that go into a season: those under a standing crop do not.

    Where crops stand in most of them (the first given, True), all are told of as they are.
    """
    stands = stands_in(rows)
    standing = bool(stands.sum() > len(rows) / 2)
    return standing, rows if standing else rows[~stands]


def standing_of(row: dict[Any, Any]) -> str | None:
    """Name the crop that grows in a field; None on bare ground."""
    growing = row["growing"]
    return row["last_crop"] if not pd.isna(growing) and growing else None


def detail_of(row: dict[Any, Any]) -> str:
    """Say crop, what stands meanwhile, and source beside a field's name, as far as known."""
    source, standing = row["source_name"], standing_of(row)
    stands = f"{standing} stands" if standing else None
    crop = row["next_crop"] if isinstance(row["next_crop"], str) else None
    parts = (stands, crop, source if isinstance(source, str) else None)
    return " · ".join(one for one in parts if one)


def shown_of(row: dict[Any, Any], zone: str, system: System, split_cm: float) -> str:
    """Describe a field in the hint that the map shows over it."""
    where = words.zone_label(zone, system, split_cm)
    if pd.isna(row["deficit_mm"]):
        return f"{row['name']}: not known"
    short = words.short_words(row["deficit_mm"], system)
    place = where if where.startswith("below") else f"in the {where}"
    return (
        f"{row['name']}: {short} {place}, {words.within_words(row['sd_mm'], system)}. "
        f"{sure_class(row)}; read {words.day_text(row['read_on'])}."
    )


def sure_class(row: dict[Any, Any]) -> str:
    """Name a class, and how sure it is where that is less than six in ten."""
    name = words.class_name(row["class"])
    sure = row["class_probability"]
    if pd.isna(sure) or sure >= SURE:
        return name
    odds = {code: row.get(f"p_{code}") for code in words.CLASS_NAMES if code != row["class"]}
    known = {code: p for code, p in odds.items() if p is not None and not pd.isna(p)}
    second = max(known, key=lambda code: known[code]) if known else None
    return f"{name} or {words.class_name(second)}" if second else name


def field_sentence(store: data.Store, row: dict[Any, Any], system: System) -> str:
    """Answer for one field, out of its row of the district.

    The deep zone is spoken of, or the whole profile where probe or roots do not reach so deep.
    """
    wet, zone = row["upper_fill"], row.get("zone", "deep")
    short = row["deep_deficit_mm"] if zone == "deep" else row["deficit_mm"]
    dry = not pd.isna(row["fill"]) and row["fill"] < store.settings.dry_fill
    top_wet = not pd.isna(wet) and wet >= store.settings.wet_fill
    return words.field_answer(
        name=row["name"],
        crop=crop_of(row),
        deep_mm=None if pd.isna(short) else short,
        wet_on_top=zone == "deep" and dry and top_wet,
        system=system,
        zone=zone,
        split_cm=store.settings.zone_split_cm,
        standing=standing_of(row),
    )
