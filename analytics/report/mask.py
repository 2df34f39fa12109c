"""Put letters for growers, fields, probes and sources, and take away where they are.

One function, used by every screen, file and report that may be shown to others.
"""

import hashlib
import json
import re
from collections.abc import Callable, Collection, Iterable, Mapping
from string import ascii_uppercase

import pandas as pd

PLACES = frozenset(
    {"geometry", "latitude", "longitude", "elevation_m", "station", "timezone", "irrigated_ha"}
)
"""Columns that tell where a field is, or which by its size; dropped."""
PEOPLE_SAID = frozenset(
    {"author", "by", "limits_by", "reverted_by", "reverted_why", "set_by", "undone_by"}
)
"""Columns in which people are named or write what they like; dropped."""
_NOT_SHOWN = frozenset(
    {"landmarks", "stations", "weather", "order_inputs", "imports", "scenarios"}
)

Letters = dict[str, str]


def masked(
    tables: Mapping[str, pd.DataFrame], *, unmask: Iterable[str] = (), deal: str = ""
) -> dict[str, pd.DataFrame]:
    """Mask tables of one store, all by the same letters.

    Parameters
    ----------
    tables : mapping of table name to DataFrame
        Must hold ``fields``; ``sites``, ``sources`` and ``landmarks`` where their ids or names
        occur in others.
    unmask : iterable of str
        Growers who are shown their own fields by name.
    deal : str
        A secret of the occasion: another one deals the letters anew. Without it whoever knows
        all ids could work out which letter is whose.

    Returns
    -------
    dict of str to DataFrame
        Without tables and columns that tell a place or a person's words; in every other cell
        ids and names are letters. The order of rows and of letters tells nothing of names.
    """
    unmask = frozenset(unmask)
    letters = letters_of(tables, unmask=unmask, deal=deal)
    swap = swapper({**_kept_words(tables, unmask), **letters})
    return {
        name: _masked(frame, swap) for name, frame in tables.items() if name not in _NOT_SHOWN
    }


def letters_of(
    tables: Mapping[str, pd.DataFrame], *, unmask: Iterable[str] = (), deal: str = ""
) -> Letters:
    """Give what stands for each id and name that is masked.

    Parameters and errors as :func:`masked`. Whoever is unmasked, the others keep the letters
    that this deal gave them: a room goes on speaking of its field C.
    """
    fields = pd.DataFrame(tables["fields"])
    own = set(unmask)
    shown = {str(one) for one in fields.loc[fields["grower"].isin(own), "field"]}
    letters: Letters = {}
    growers = {str(one): {str(one)} for one in fields["grower"].dropna()}
    letters |= _lettered("Grower", growers, deal, own)
    letters |= _lettered("Field", _named(fields, "field"), deal, shown)
    sites = tables.get("sites")
    if sites is not None:
        probes = {str(one): {str(one)} for one in sites["site"]}
        theirs = {str(one) for one in sites.loc[sites["field"].isin(shown), "site"]}
        letters |= _lettered("Probe", probes, deal, theirs)
    sources = tables.get("sources")
    if sources is not None:
        letters |= _lettered("Source", _named(pd.DataFrame(sources), "source"), deal)
    places = tables.get("landmarks")
    if places is not None:
        named = [str(one) for one in places["name"].dropna() if one]
        letters |= _lettered("Place", {one: {one} for one in named}, deal)
    return letters


def _kept_words(tables: Mapping[str, pd.DataFrame], unmask: Iterable[str]) -> Letters:
    """Let what is unmasked stand whole, also where a masked word is part of it."""
    fields = pd.DataFrame(tables["fields"])
    own = fields[fields["grower"].isin(set(unmask))]
    words = {*own["field"], *own.get("name", ()), *own["grower"]}
    return {one: one for one in words if isinstance(one, str) and one}


def _named(rows: pd.DataFrame, key: str) -> dict[str, set[str]]:
    """Give each id with the names that it goes by."""
    names = rows["name"] if "name" in rows else rows[key]
    return {
        str(one): {str(one), *([str(name)] if isinstance(name, str) and name else [])}
        for one, name in zip(rows[key], names, strict=True)
    }


def _lettered(
    what: str, words: Mapping[str, set[str]], deal: str, shown: Collection[str] = ()
) -> Letters:
    ordered = sorted(words, key=lambda one: hashlib.sha256(f"{deal}{one}".encode()).digest())
    return {
        word: f"{what} {_letter(at)}"
        for at, one in enumerate(ordered) if one not in shown
        for word in words[one]
    }  # fmt: skip


def _letter(at: int) -> str:
    """Count A to Z, then AA, AB and so on."""
    first, last = divmod(at, len(ascii_uppercase))
    return (_letter(first - 1) if first else "") + ascii_uppercase[last]


def swapper(letters: Letters) -> Callable[[str], str]:
    """Make the function that puts letters into a text, whatever the case of its names."""
    if not letters:
        return lambda told: told
    longest = sorted(letters, key=len, reverse=True)
    found = re.compile("|".join(re.escape(one) for one in longest), re.IGNORECASE)
    plain = {one.casefold(): letter for one, letter in letters.items()}

    def swapped(told: str) -> str:
        # A column mostly holds names and nothing else: to look for each name in it takes long.
        whole = plain.get(told.casefold())
        return whole or found.sub(lambda hit: plain[hit[0].casefold()], told)

    return swapped


def _masked(frame: pd.DataFrame, swap: Callable[[str], str]) -> pd.DataFrame:
    out = pd.DataFrame(frame).reset_index(drop=True)
    gone = [one for one in out if one in PLACES or one in PEOPLE_SAID]
    out = out.drop(columns=[*gone, *_free_text(out)])
    for column in out:
        values = out[column]
        if pd.api.types.is_string_dtype(values) or values.dtype == object:
            told = {one: swap(one) for one in values.unique() if isinstance(one, str)}
            out[column] = [told.get(one, one) for one in values]
    order = pd.util.hash_pandas_object(out, index=False, categorize=False)
    return out.loc[order.sort_values(kind="stable").index].reset_index(drop=True)


def _free_text(frame: pd.DataFrame) -> list[str]:
    """Find a column of reasons that people wrote: those of ours are codes in JSON."""
    if "reason" not in frame:
        return []
    said = [one for one in frame["reason"] if isinstance(one, str) and one]
    return [] if all(_coded(one) for one in said) else ["reason"]


def _coded(told: str) -> bool:
    try:
        return isinstance(json.loads(told), dict)
    except ValueError:
        return False
