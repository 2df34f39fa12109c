"""A file to take away: whole under the name that was asked for, or not there at all."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from analytics.errors import InputRefused


def require(out: Path, endings: Sequence[str] = ()) -> None:
    """Refuse a name that no file can be written under, before any work is done for it.

    Parameters
    ----------
    out : Path
        The file that was asked for.
    endings : sequence of str, optional
        What its name may end in, such as ``.pdf``; anything when left out.

    Raises
    ------
    InputRefused
        When it is a folder, its folder is not there, or it would be called what it is not.
    """
    if out.is_dir():
        raise InputRefused(str(out), "this is a folder.", "Name a file in it.")
    if not out.parent.is_dir():
        found = f"there is no folder {out.parent}."
        raise InputRefused(str(out), found, "Make it, or name a file in another.")
    if endings and out.suffix.lower() not in endings:
        found = f"the name does not end in {' or '.join(endings)}, which alone is written."
        raise InputRefused(str(out), found, f"Name it {out.with_suffix(endings[0])}.")


@contextmanager
def unfinished(out: Path) -> Iterator[Path]:
    """Give a name to write under; the file takes the one asked for once it is whole.

    Parameters
    ----------
    out : Path
        The file that was asked for; one that exists is replaced only by a whole new one.

    Yields
    ------
    Path
        Beside it, with its ending, since some writers go by that.

    Raises
    ------
    InputRefused
        When no file can be written under the name.
    OSError
        Of the file asked for, not of the one beside it, which nobody knows.
    """
    require(out)
    beside = out.with_name(f".unfinished-{out.name}")
    try:
        beside.touch()  # a folder that may not be written is told before the work, not after
        beside.unlink()
        yield beside
        beside.replace(out)
    except OSError as why:
        if str(why.filename) == str(beside):
            raise OSError(why.errno, why.strerror, str(out)) from why
        raise
    finally:
        beside.unlink(missing_ok=True)
