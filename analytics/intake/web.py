"""JSON from a web service, bounded in time and size, from the host that a person named only."""

import json
from http.client import HTTPException
from typing import Any
from urllib.error import HTTPError, URLError
from urllib.parse import urlsplit
from urllib.request import HTTPRedirectHandler, Request, build_opener

from analytics.errors import InputRefused

TIMEOUT_S = 30.0
MOST_BYTES = 50_000_000
SCHEMES = ("http", "https")


class _Stay(HTTPRedirectHandler):
    """Follow no redirection: it could lead to another host."""

    def redirect_request(self, *_: Any, **__: Any) -> None:
        return None


def get_json(url: str, host: str) -> dict[str, Any]:
    """Fetch one JSON object.

    Parameters
    ----------
    url : str
    host : str
        The host (and port) that a person named; another one is refused.

    Raises
    ------
    InputRefused
        When the address is another host's, or the service does not answer with JSON.
    """
    parts = urlsplit(url)
    if parts.scheme not in SCHEMES or parts.netloc != host:
        found = f"it leads to another address ({parts.scheme}://{parts.netloc})."
        raise InputRefused(host, found, "Name the service by the address that answers itself.")
    raw = _fetch(url, host)
    try:
        answer = json.loads(raw)
    except ValueError as error:
        raise InputRefused(url, "the answer is not JSON.", "Check the address.") from error
    if not isinstance(answer, dict):
        raise InputRefused(url, "the answer is not a JSON object.", "Check the address.")
    return answer


def _fetch(url: str, host: str) -> bytes:
    asked = Request(url, headers={"Accept": "application/json"})  # noqa: S310 - checked above
    again = "Nothing was taken; repeat the command later."
    try:
        with build_opener(_Stay).open(asked, timeout=TIMEOUT_S) as answer:
            raw = answer.read(MOST_BYTES + 1)
    except HTTPError as error:
        error.close()
        found = f"the service answered {error.code} ({error.reason}) to {url}."
        raise InputRefused(host, found, again) from error
    except (URLError, OSError, HTTPException, ValueError) as error:
        why = getattr(error, "reason", error)
        raise InputRefused(host, f"the service cannot be reached ({why}).", again) from error
    if len(raw) > MOST_BYTES:
        found = f"one page of the answer is larger than {MOST_BYTES // 1_000_000} MB."
        raise InputRefused(host, found, "Ask its keeper for smaller pages.")
    return raw
