"""The SQL statements, one a file, read once."""

import re
from functools import cache
from importlib.resources import files


@cache
def text(name: str) -> str:
    """Give the statement kept in ``sql/<name>.sql``."""
    return files("analytics.store").joinpath("sql", f"{name}.sql").read_text(encoding="utf-8")


@cache
def words(name: str) -> frozenset[str]:
    """Give every word of a statement; the tables that it reads are among them."""
    return frozenset(re.findall(r"\w+", text(name)))


def quoted(name: str) -> str:
    """Write a name as SQL does, whatever is in it."""
    return '"' + name.replace('"', '""') + '"'


def literal(word: str) -> str:
    """Write a word for a statement that takes no parameter there."""
    return "'" + word.replace("'", "''") + "'"


def names() -> tuple[str, ...]:
    """List every statement."""
    folder = files("analytics.store").joinpath("sql")
    found = (one.name for one in folder.iterdir() if one.name.endswith(".sql"))
    return tuple(sorted(name.removesuffix(".sql") for name in found))
