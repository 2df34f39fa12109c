"""Who may look in on a shared server: roles by e-mail address, kept in the store."""

from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import cast

from analytics.errors import InputRefused, NotKnown
from analytics.store import connection, sight, statements, trail
from analytics.store.sight import ROLES, Role, Sight


def give(store: Path, email: str, role: Role, growers: Sequence[str] = ()) -> None:
    """Give somebody a role; the one before gives way.

    Parameters
    ----------
    store : Path
    email : str
        As the sign-in service will name the person; capitals do not matter.
    role : str
        ``administrator`` and ``agronomist`` see every field and may change; a ``grower`` sees
        the fields of the growers named; a ``guest`` sees none.
    growers : sequence of str
        Names as in the fields table; for a grower, and only there.

    Raises
    ------
    InputRefused
        When the address is none, the role unknown, or a grower is named who farms no field.
    """
    address = _address(email)
    where = f"account {address}"
    if role not in ROLES:
        raise InputRefused(where, f"there is no role {role!r}.", f"Known: {', '.join(ROLES)}.")
    if (role == "grower") != bool(growers):
        found = "a grower's account names whose fields it sees; no other does."
        raise InputRefused(where, found, "Name them with --grower NAME, once for each.")
    with connection.writing(store) as db:
        known = {str(name) for (name,) in statements.execute(db, "grower_names")}
        if unknown := [one for one in growers if one not in known]:
            found = f"{unknown[0]!r} farms no field of this store."
            remedy = f"Known: {', '.join(sorted(known)) or 'nobody yet'}."
            raise InputRefused(where, found, remedy)
        statements.execute(db, "drop_account", email=address)
        statements.execute(
            db, "save_account", email=address, role=role, growers=list(growers),
            given_at=datetime.now(UTC),
        )  # fmt: skip


def take(store: Path, email: str) -> None:
    """Take somebody's role away.

    Raises
    ------
    NotKnown
        When there is no such account.
    """
    with connection.writing(store) as db:
        if not statements.execute(db, "drop_account", email=_address(email)):
            message = f"There is no account {email!r}. See: overwinter table STORE accounts"
            raise NotKnown(message)


def sight_of(store: Path, email: str) -> Sight:
    """Give what somebody may see; a guest's sight for an address without a role."""
    address = email.strip().lower()
    with sight.unbound(), connection.reading(store) as db:
        found = statements.execute(db, "find_account", email=address)
    if not found:
        return Sight(who=address, role="guest")
    role, growers = found[0]
    names = tuple(cast("list[str]", growers))
    return Sight(who=address, role=cast("Role", role), growers=names)


def took_away(store: Path, what: str) -> None:
    """Note in the trail that whoever is being served took a file away."""
    looking = sight.current()
    if looking is None or not looking.who:
        return
    with sight.unbound(), connection.writing(store) as db:
        trail.note(db, looking.who, "took away", what)


def _address(email: str) -> str:
    address = email.strip().lower()
    name, _, host = address.partition("@")
    if not name or not host or any(one.isspace() for one in address):
        where = f"account {email!r}"
        raise InputRefused(
            where, "that is no e-mail address.", "Write it like ash@example.org."
        )
    return address
