"""How far a web service has been read is kept, and replaced by the next pull."""

from pathlib import Path

from analytics.store import cursors


def test_a_cursor_is_kept_for_each_service(store: Path) -> None:
    assert cursors.find(store, "http://a/") is None
    first = {"1": {"phenomenonTime": "2024-05-01T00:00:00Z"}}
    cursors.save(store, "http://a/", first)
    cursors.save(store, "http://b/", {})
    assert cursors.find(store, "http://a/") == first
    cursors.save(store, "http://a/", {"1": {"phenomenonTime": "2024-05-02T00:00:00Z"}})
    moved = cursors.find(store, "http://a/")
    assert moved == {"1": {"phenomenonTime": "2024-05-02T00:00:00Z"}}
    assert cursors.find(store, "http://b/") == {}
