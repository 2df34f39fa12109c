"""Keep a copy of a whole store in one file, and make a store of such a copy again.

A copy is a plain tar of the store's files with a list of their SHA-256 sums at its end; it is
read back and compared before it takes its name, and again before anything is restored.
"""

import hashlib
import io
import json
import os
import shutil
import tarfile
from collections.abc import Callable
from pathlib import Path, PurePosixPath
from typing import IO

from analytics import outfile
from analytics.errors import InputRefused, StoreError
from analytics.store import connection
from analytics.store.paths import LOCKS, database, require

SUMS = "checksums.json"
_BLOCK = 1 << 20
Progress = Callable[[float, str], None]


def back_up(store: Path, out: Path, progress: Progress | None = None) -> int:
    """Copy a store into one file while nobody writes to it; reading goes on.

    Parameters
    ----------
    store : Path
        The store's folder.
    out : Path
        The file to make; one that exists is replaced only by a whole new copy.
    progress : callable, optional
        Given the share done (0-1) and the file just copied.

    Returns
    -------
    int
        How many files the copy holds.

    Raises
    ------
    StoreMissing, StoreBusy
    InputRefused
        When the copy would lie inside the store, or cannot be written.
    StoreError
        When what was written does not read back as it was.
    """
    require(store)
    if store.resolve() in out.resolve().parents:
        found = "lies inside the store that it is to copy."
        raise InputRefused(str(out), found, "Name a file elsewhere, best on another disk.")
    with outfile.unfinished(out) as beside:
        with connection.turn(store), connection.publishing(store):
            with connection.writing(store):
                pass  # what a crash left in the log goes into the database's file
            sums = _pack(store, beside, progress)
        _verify(beside)
    return len(sums)


def restore(copy: Path, store: Path, progress: Progress | None = None) -> int:
    """Make a store of a copy; all of it, or nothing.

    Parameters
    ----------
    copy : Path
        A file that ``back_up`` made.
    store : Path
        A folder that does not exist yet, or is empty.
    progress : callable, optional
        Given the share done (0-1) and the file just restored.

    Returns
    -------
    int
        How many files were restored.

    Raises
    ------
    InputRefused
        When the file is no copy of a store, or is damaged.
    StoreError
        When there is something at ``store``.
    """
    if store.exists() and (not store.is_dir() or any(store.iterdir())):
        message = f"{store}: there are files here already. Name a new or an empty folder."
        raise StoreError(message)
    sums = _verify(copy)
    arriving = store.absolute().with_name(f".{store.absolute().name}.restoring")
    shutil.rmtree(arriving, ignore_errors=True)
    try:
        _unpack(copy, arriving, sums, progress)
        (arriving / LOCKS).mkdir(exist_ok=True)
        if store.exists():
            store.rmdir()
        arriving.replace(store)
    finally:
        shutil.rmtree(arriving, ignore_errors=True)
    return len(sums)


def _pack(store: Path, out: Path, progress: Progress | None) -> dict[str, str]:
    files = sorted(path for path in store.rglob("*") if _kept(path, store))
    sums: dict[str, str] = {}
    with out.open("wb") as raw:
        with tarfile.open(fileobj=raw, mode="w") as tar:
            for done, path in enumerate(files, 1):
                name = path.relative_to(store).as_posix()
                with path.open("rb") as content:
                    sums[name] = _sum(content)
                tar.add(path, arcname=name, recursive=False)
                _tell(progress, done / len(files), name)
            listed = json.dumps(sums, sort_keys=True, indent=0).encode()
            told = tarfile.TarInfo(SUMS)
            told.size = len(listed)
            tar.addfile(told, io.BytesIO(listed))
        raw.flush()
        os.fsync(raw.fileno())
    return sums


def _kept(path: Path, store: Path) -> bool:
    """Tell the store's own files from its locks, from links and from unfinished ones."""
    if path.is_symlink() or not path.is_file():
        return False
    inside = path.relative_to(store)
    return inside.parts[0] != LOCKS and path.suffix != ".tmp"


def _verify(copy: Path) -> dict[str, str]:
    """Read a copy through and give its sums; refuse one that is not what it says."""
    found: dict[str, str] = {}
    told: dict[str, str] | None = None
    try:
        with tarfile.open(copy, "r:") as tar:
            for member in tar:
                content = _content(tar, member, copy)
                if member.name == SUMS:
                    told = json.loads(content.read())
                else:
                    found[member.name] = _sum(content)
    except (tarfile.TarError, EOFError, json.JSONDecodeError, UnicodeDecodeError) as why:
        raise _damaged(copy, "it cannot be read through") from why
    if told is None or database(Path()).name not in found:
        raise _damaged(copy, "it is not a whole copy of a store")
    if odd := sorted(name for name in {*told, *found} if told.get(name) != found.get(name)):
        raise _damaged(copy, f"{odd[0]} is not as it was when the copy was made")
    return told


def _sum(content: IO[bytes]) -> str:
    digest = hashlib.sha256()
    while block := content.read(_BLOCK):
        digest.update(block)
    return digest.hexdigest()


def _content(tar: tarfile.TarFile, member: tarfile.TarInfo, copy: Path) -> IO[bytes]:
    """Open a member; links, folders and names that lead out of the store are refused."""
    inside = PurePosixPath(member.name)
    content = tar.extractfile(member) if member.isreg() else None
    if content is None or inside.is_absolute() or ".." in inside.parts:
        raise _damaged(copy, f"it holds {member.name!r}, which no copy of a store does")
    return content


def _unpack(copy: Path, to: Path, sums: dict[str, str], progress: Progress | None) -> None:
    with tarfile.open(copy, "r:") as tar:
        for done, name in enumerate(sums, 1):
            path = to / name
            path.parent.mkdir(parents=True, exist_ok=True)
            with path.open("wb") as out:
                shutil.copyfileobj(_content(tar, tar.getmember(name), copy), out)
                out.flush()
                os.fsync(out.fileno())
            _tell(progress, done / len(sums), name)


def _tell(progress: Progress | None, share: float, name: str) -> None:
    if progress is not None:
        progress(share, name)


def _damaged(copy: Path, what: str) -> InputRefused:
    return InputRefused(str(copy), f"{what}.", "Use another copy; nothing was restored.")
