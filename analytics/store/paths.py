"""Where things lie inside a store's folder, and names that are safe for any id."""

import hashlib
from pathlib import Path
from urllib.parse import quote, unquote

from analytics.errors import InputRefused, StoreMissing

DATABASE = "overwinter.duckdb"
LOG = f"{DATABASE}.wal"
READINGS = "readings"
DERIVED = "derived"
LOCKS = "locks"
CURRENT = "CURRENT"
_LONGEST_NAME = 200  # file systems take 255 bytes; room is left for prefixes and suffixes


def database(store: Path) -> Path:
    """Give the path of the store's DuckDB file."""
    return store / DATABASE


def safe(name: str) -> str:
    """Write any id as one plain file name; no two ids share one.

    Letters, digits, ``_``, ``-`` and ``~`` stay; all else, dots too, is percent-encoded, so
    that neither ``..`` nor a slash can lead out of the folder.

    Raises
    ------
    InputRefused
        When the id is empty or too long for a file name.
    """
    encoded = quote(name, safe="").replace(".", "%2E")
    if not encoded or len(encoded) > _LONGEST_NAME:
        where = f"id {name[:40]!r}"
        raise InputRefused(where, "is empty or too long to name a folder.", "Shorten it.")
    return encoded


def plain(encoded: str) -> str:
    """Turn a name made by ``safe`` back into the id."""
    return unquote(encoded)


def site_folder(store: Path, site: str) -> Path:
    """Give the folder of one site's readings."""
    return store / READINGS / f"site={safe(site)}"


def bucket(site: str, buckets: int) -> int:
    """Put a site in one of so many buckets, the same one on every machine."""
    return int.from_bytes(hashlib.sha256(site.encode()).digest()[:4], "big") % buckets


def require(store: Path) -> None:
    """Refuse a folder that is not a store.

    Raises
    ------
    StoreMissing
        When there is no store at the path.
    """
    if store.is_file():
        message = f"{store}: this is a file, not a store's folder. Name the folder of a store."
        raise StoreMissing(message)
    if not database(store).is_file():
        message = (
            f"{store}: there is no Overwinter store here. "
            f"Make one with: overwinter init {store}"
        )
        raise StoreMissing(message)


def generation(store: Path) -> str:
    """Give a token that changes with every write to the store, without opening it.

    Parameters
    ----------
    store : Path
        The store's folder.

    Returns
    -------
    str
        Made of the sizes and times of the database's files and of the published results.
    """
    require(store)
    watched = (DATABASE, LOG, f"{DERIVED}/{CURRENT}")
    return "-".join(_stamp(store / name) for name in watched)


def _stamp(path: Path) -> str:
    try:
        seen = path.stat()
    except FileNotFoundError:
        return "0"
    return f"{seen.st_mtime_ns:x}.{seen.st_size:x}.{seen.st_ino:x}"
