"""A report from beginning to end: which pages, in which words, masked or not, as one PDF."""

import secrets
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from analytics.errors import NotKnown
from analytics.report import mask, typeset
from analytics.report.typeset import Block, Paper
from analytics.units import System
from dashboard import data
from dashboard.views.paper.field import field_page
from dashboard.views.paper.fields import fields_page
from dashboard.views.parts.district import unique_names
from dashboard.words import day_text

Progress = Callable[[float, str], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What is wanted: these fields, else a grower's, else the district's; masked or not."""

    fields: tuple[str, ...] = ()
    grower: str = ""
    masked: bool = False
    system: System = "in"
    paper: Paper = "letter"


def report(store: data.Store, asked: Asked, tell: Progress) -> bytes:
    """Make a report.

    Parameters
    ----------
    store : Store
        Assessed.
    asked : Asked
    tell : callable
        Given the share done and what was set.

    Returns
    -------
    bytes
        A PDF: a page a field; before a grower's fields, and for the district, a page of all.

    Raises
    ------
    NotKnown
        When there is no such field or grower.
    """
    names = unique_names(data.going_in(store, data.dates(store)[0], "deep"))
    fields = _fields(store, asked, names)
    pages: list[list[Block]] = []
    if not asked.fields:
        pages.append(fields_page(store, asked.grower, asked.system))
    for at, field in enumerate(fields, 1):
        pages.append(field_page(store, field, names[field], asked.system))
        tell(0.95 * at / len(fields), names[field])
    title, foot = "Overwinter", f"{store.name}, {day_text(store.as_of)} · Overwinter"
    if asked.masked:
        pages, foot = _masked(store, pages), f"{day_text(store.as_of)} · Overwinter"
    made = typeset.pdf(title, pages, foot=foot, paper=asked.paper)
    tell(1.0, "The pages are set")
    return made


def _fields(store: data.Store, asked: Asked, names: dict[str, str]) -> Sequence[str]:
    if asked.fields:
        unknown = [one for one in asked.fields if one not in names]
        if unknown:
            message = f"There is no field {unknown[0]!r}. Known: {', '.join(sorted(names))}."
            raise NotKnown(message)
        return asked.fields
    if not asked.grower:
        return ()
    every = data.fields(store)
    own = every.loc[every["grower"] == asked.grower, "field"]
    if own.empty:
        known = ", ".join(sorted(every["grower"].dropna().unique()))
        message = f"Nobody called {asked.grower!r} farms a field here. Known: {known}."
        raise NotKnown(message)
    return [one for one in names if one in set(own)]


def _masked(store: data.Store, pages: list[list[Block]]) -> list[list[Block]]:
    """Put letters for every name, in words, tables and drawings alike; dealt anew each time."""
    swap = mask.swapper(mask.letters_of(data.naming(store), deal=secrets.token_hex(16)))
    return [[_swapped(block, swap) for block in page] for page in pages]


def _swapped(told: Any, swap: Callable[[str], str]) -> Any:
    if isinstance(told, str):
        return swap(told)
    if isinstance(told, list):
        return [_swapped(one, swap) for one in told]
    if isinstance(told, dict):
        return {key: one if key == "kind" else _swapped(one, swap) for key, one in told.items()}
    return told
