"""Assess on other machines: the same function of one site, on a dask.distributed cluster."""

import asyncio
import importlib
from collections.abc import Iterator
from concurrent.futures import Executor
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from analytics.errors import InputRefused
from analytics.store import layout
from analytics.store.due import made_by

PATIENCE = "20s"


@contextmanager
def joined(address: str, store: Path) -> Iterator[Executor]:
    """Join a running cluster and give its executor.

    Parameters
    ----------
    address : str
        Of the scheduler.
    store : Path
        Its folder, under the same path on every worker: they read their sites there, and lay
        their results down beside them.

    Raises
    ------
    InputRefused
        When the library is missing, the address has no port, nobody answers, there is no
        worker, or one does not see this very store or has another Overwinter.
    """
    where = f"cluster {address}"
    try:
        library = importlib.import_module("distributed")  # an extra, and slow to load
    except ImportError as why:
        remedy = 'Run: pip install "overwinter[cluster]"'
        raise InputRefused(where, "dask.distributed is not installed.", remedy) from why
    _has_port(address, where)
    try:
        client: Any = library.Client(address, timeout=PATIENCE, set_as_default=False)
    except (OSError, TimeoutError, ValueError, asyncio.CancelledError) as why:
        found = f"nobody answers ({why})."
        raise InputRefused(where, found, "Start a scheduler there, and check it.") from why
    with client:
        _same(client, where, store)
        yield client.get_executor(pure=False, retries=1)


def _has_port(address: str, where: str) -> None:
    """Refuse what is no address: a client of it never opens, and holds up the end by 40 s."""
    try:
        importlib.import_module("distributed.comm").get_address_host_port(address)
    except ValueError as why:
        found = f"this is not the address of a scheduler ({why})."
        raise InputRefused(where, found, "Write it like tcp://HOST:8786.") from why


def _same(client: Any, where: str, store: Path) -> None:
    """See that every worker would work on the same store by the same rules."""
    told: dict[str, tuple[str, str]] = client.run(seen_by_worker, str(store))
    if not told:
        raise InputRefused(where, "it has no worker.", "Start workers, and repeat.")
    here = seen_by_worker(str(store))
    for worker, there in sorted(told.items()):
        if there[0] != here[0]:
            found = f"worker {worker} has Overwinter {there[0]}, this is {here[0]}."
            raise InputRefused(where, found, "Install the same Overwinter everywhere.")
        if there[1] != here[1]:
            found = f"worker {worker} does not see this store at {store}."
            raise InputRefused(where, found, "Mount the store's folder under the same path.")


def seen_by_worker(store: str) -> tuple[str, str]:
    """Tell the form of results that a process makes, and the generation that it sees."""
    path = Path(store)
    return made_by(), layout.generation(path) if path.is_dir() else ""
