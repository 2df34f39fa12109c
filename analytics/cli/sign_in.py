"""Read the file that names the service people sign in with; refuse one that cannot work."""

import tomllib
from pathlib import Path
from urllib.parse import urlsplit

from analytics.errors import InputRefused

WANTED = ("redirect_uri", "cookie_secret", "client_id", "client_secret", "server_metadata_url")
_SHORTEST_SECRET = 32


def public_host(path: Path) -> str:
    """Give the host name under which people reach the server.

    Parameters
    ----------
    path : Path
        A TOML file with a table ``[auth]``, as Streamlit's own login reads it.

    Raises
    ------
    InputRefused
        When the file is missing, is no TOML, or lacks something that signing in needs.
    """
    auth = _auth(path)
    missing = [name for name in WANTED if not str(auth.get(name, "")).strip()]
    if missing:
        found = f"[auth] has no {', '.join(missing)}."
        raise InputRefused(str(path), found, "The README shows a whole one.")
    if len(str(auth["cookie_secret"])) < _SHORTEST_SECRET:
        found = (
            f"cookie_secret is shorter than {_SHORTEST_SECRET} characters; it could be guessed."
        )
        remedy = 'Make one: python3 -c "import secrets; print(secrets.token_hex(32))"'
        raise InputRefused(str(path), found, remedy)
    parts = urlsplit(str(auth["redirect_uri"]))
    if not parts.hostname or not parts.path.endswith("/oauth2callback"):
        found = f"redirect_uri {auth['redirect_uri']!r} does not end in /oauth2callback."
        raise InputRefused(str(path), found, "Write https://HOST/oauth2callback.")
    return parts.hostname


def _auth(path: Path) -> dict[str, object]:
    if not path.is_file():
        remedy = "Write one as the README shows: which service signs people in."
        raise InputRefused(str(path), "there is no such file.", remedy)
    try:
        return dict(tomllib.loads(path.read_text(encoding="utf-8")).get("auth", {}))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError, TypeError) as why:
        raise InputRefused(str(path), f"is no TOML ({why}).", "Correct it.") from why
