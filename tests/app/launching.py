"""Open a page in a session of its own, and read what it says."""

import re
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

import dashboard

APP = str(Path(dashboard.__file__).with_name("app.py"))
PATIENCE_S = 120
FIRST = "going_in"
"""The page that an address without a page opens."""
EMPTY_WORDS = re.compile(r"\b(None|nan|NaN|NaT|<NA>)\b")
"""What a value that is not known must never look like."""


def session(**address: str) -> AppTest:
    """Begin a session at an address; it has not run yet."""
    app = AppTest.from_file(APP, default_timeout=PATIENCE_S)
    for name, value in address.items():
        app.query_params[name] = value
    return app


def launched(
    store: Path | None, monkeypatch: pytest.MonkeyPatch, page: str = FIRST, **address: str
) -> AppTest:
    """Open a store on one of its pages.

    Pages are known once the app has run: it runs without a store, which draws none of them.
    """
    monkeypatch.delenv("OVERWINTER_STORE", raising=False)
    app = session(**address)
    if page != FIRST:
        turned_to(app.run(), page)
    if store is not None:
        monkeypatch.setenv("OVERWINTER_STORE", str(store))
    app.run()
    assert not app.exception, app.exception
    return app


def turned_to(app: AppTest, page: str) -> AppTest:
    """Turn to another page, named as its view is."""
    app.switch_page(f"views/{page}.py").run()
    assert not app.exception, app.exception
    return app


def said(app: AppTest) -> str:
    """Join all that the page says in words; nothing failed, and no value shows as missing."""
    assert not app.exception, app.exception
    html = [one.proto.body for one in app.get("html")]
    notes = (*app.title, *app.markdown, *app.info, *app.warning, *app.success, *app.error)
    words = re.sub(r"data:[^\"]*|<style>.*?</style>", "", "\n".join(html), flags=re.DOTALL)
    words = "\n".join([words, *(one.value for one in notes)])
    assert not EMPTY_WORDS.search(words), EMPTY_WORDS.search(words)
    return words
