"""The database's tables and how an older store is brought up to date.

Each version is the list of statements that lead to it from the one before; a statement
once released is never edited, a new version is appended.
"""

import duckdb

from analytics.errors import StoreNewer
from analytics.store.sqlfiles import text

MIGRATIONS: tuple[tuple[str, ...], ...] = (
    (
        "schema_fields",
        "schema_sources",
        "schema_sites",
        "schema_layers",
        "schema_seasons",
        "schema_water",
        "schema_stations",
        "schema_weather",
        "schema_landmarks",
        "schema_import_numbers",
        "schema_imports",
        "schema_rejects",
        "schema_mappings",
        "schema_cursors",
        "schema_settings",
        "schema_assessments",
        "schema_set_limits",
        "schema_flag_edit_numbers",
        "schema_flag_edits",
        "schema_filled",
        "schema_scenarios",
        "schema_touches",
        "schema_touched",
    ),
    ("schema_accounts", "schema_trail"),
    ("schema_gauge",),
    ("schema_coefficients", "schema_dismissals"),
    ("schema_touched_since",),
    ("schema_root_limit",),
    ("schema_removed",),
)
VERSION = len(MIGRATIONS)


def found(connection: duckdb.DuckDBPyConnection) -> int:
    """Give the schema version of an open store; 0 for a new one, if in no transaction.

    Raises
    ------
    StoreNewer
        When a newer Overwinter wrote the store.
    """
    try:  # to look through the list of tables first would cost half of what opening costs
        ((version,),) = connection.execute(text("schema_version")).fetchall()
    except duckdb.CatalogException:
        return 0
    if version > VERSION:
        message = (
            f"This store was written by a newer Overwinter (schema {version}; this one "
            f"knows {VERSION}). Update the program; the store is unharmed."
        )
        raise StoreNewer(message)
    return int(version)


def upgrade(connection: duckdb.DuckDBPyConnection, version: int) -> None:
    """Bring an open store to this version's tables, inside the caller's transaction."""
    if version == VERSION:
        return
    if version == 0:
        connection.execute(text("schema_version_table"))
    for names in MIGRATIONS[version:]:
        for name in names:
            connection.execute(text(name))
    connection.execute(text("save_schema_version"), {"version": VERSION})
