"""What people say about flags: each edit kept with author and reason, none ever erased."""

from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path

import pandas as pd

from analytics.errors import InputRefused, NotKnown
from analytics.soil.edits import ACTIONS
from analytics.soil.flags import Flag
from analytics.store import connection, statements

FLAGS = tuple(str(one.name).lower() for one in Flag)


def make(
    store: Path,
    site: str,
    *,
    flag: str,
    since: datetime,
    until: datetime,
    action: str,
    author: str,
    reason: str,
    depths_cm: Sequence[float | None] = (None,),
) -> list[int]:
    """Keep an edit; the site is due at the next assessment.

    Parameters
    ----------
    store : Path
        The store's folder.
    site : str
        The probe's id.
    flag : str
        Lower-case name of a flag.
    since, until : datetime
        First and last instant of the span, with an offset; both belong to it.
    action : {"confirm", "dismiss", "add"}
        What is said of the span.
    author, reason : str
        Who says so, and why; neither may be blank.
    depths_cm : sequence of float or None
        The sensors, cm; None for every sensor of the probe. All are kept, or none.

    Returns
    -------
    list of int
        A number for each sensor named, by which it can be undone.

    Raises
    ------
    InputRefused
        When author or reason is blank, the flag or action unknown, or the span runs backwards.
    NotKnown
        When there is no such site.
    """
    where = f"Edit of {site}"
    _check_words(where, author, reason)
    _check_span(where, since, until)
    _check_names(where, flag, action)
    with connection.writing(store) as db:
        if (site,) not in statements.execute(db, "site_names"):
            message = f"There is no site {site!r} in the store. Import the sites table first."
            raise NotKnown(message)
        said = {
            "site": site, "flag": flag, "from": since, "to": until, "action": action,
            "author": author.strip(), "reason": reason.strip(), "made_at": datetime.now(UTC),
        }  # fmt: skip
        kept = [
            statements.execute(db, "save_flag_edit", depth_cm=depth, **said)
            for depth in depths_cm
        ]
        statements.execute(db, "touch_sites", sites=[site])
    return [int(str(number)) for ((number,),) in kept]


def undo(store: Path, number: int, author: str) -> str:
    """Take an edit back; it stays in the history with who undid it.

    Returns
    -------
    str
        The site, which is due at the next assessment.

    Raises
    ------
    InputRefused
        When no author is named.
    NotKnown
        When there is no such edit, or it was undone before.
    """
    where = f"Edit {number}"
    if not author.strip():
        raise InputRefused(where, "nobody is named who undoes it.", "Enter your name.")
    with connection.writing(store) as db:
        found = statements.execute(
            db, "undo_flag_edit", number=number, undone_at=datetime.now(UTC),
            undone_by=author.strip(),
        )  # fmt: skip
        if not found:
            message = f"There is no edit {number} that still holds. Look at the history."
            raise NotKnown(message)
        site = str(found[0][0])
        statements.execute(db, "touch_sites", sites=[site])
    return site


def history(store: Path, site: str) -> pd.DataFrame:
    """Give every edit of one site, newest first, undone ones too."""
    return statements.query(store, "show_record_edits", site=site)


def _check_words(where: str, author: str, reason: str) -> None:
    if not author.strip():
        raise InputRefused(where, "no author is named.", "Enter your name.")
    if not reason.strip():
        raise InputRefused(where, "no reason is given.", "Say in a few words what you know.")


def _check_span(where: str, since: datetime, until: datetime) -> None:
    if since.utcoffset() is None or until.utcoffset() is None:
        raise InputRefused(where, "its times have no offset.", "Give them in the site's zone.")
    if until < since:
        found = f"it ends ({until:%Y-%m-%d %H:%M}) before it begins ({since:%Y-%m-%d %H:%M})."
        raise InputRefused(where, found, "Correct the times.")


def _check_names(where: str, flag: str, action: str) -> None:
    if flag not in FLAGS:
        raise InputRefused(where, f"there is no flag {flag!r}.", f"Known: {', '.join(FLAGS)}.")
    if action not in ACTIONS:
        remedy = f"Use one of {', '.join(ACTIONS)}."
        raise InputRefused(where, f"{action!r} is nothing that can be done.", remedy)
