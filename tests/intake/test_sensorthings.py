"""OGC SensorThings against a small server of the test's own that speaks the standard's JSON."""

import json
import threading
from collections.abc import Iterator
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any
from urllib.parse import parse_qs, quote, urlsplit

import numpy as np
import pytest

from analytics.errors import InputRefused
from analytics.intake import Known
from analytics.intake.sensorthings import pull

KNOWN = Known(sites={"N1": "America/Denver", "N2": "America/Denver"})
MAPPING = {
    "datastreams": [
        {"datastream": "north 30", "site": "N1", "depth_cm": 30, "quantity": "vwc"},
        {"datastream": 2, "site": "N1", "depth_cm": 30, "quantity": "soil_temp", "unit": "F"},
    ]
}
PAGE = 3


@dataclass
class Service:
    """What the server holds, what it was asked, and how it should fail."""

    url: str = ""
    streams: list[dict[str, Any]] = field(default_factory=list)
    held: dict[str, list[dict[str, Any]]] = field(default_factory=dict)
    asked: list[dict[str, str]] = field(default_factory=list)
    fail_from: int = 10**9
    elsewhere: str = ""

    def answer(self, path: str, query: dict[str, str]) -> dict[str, Any]:
        if path.endswith("/Observations"):
            rows = self.held[path.split("(")[1].split(")", maxsplit=1)[0]]
            rows = sorted(filter(lambda row: _fits(row, query), rows), key=_time)
        else:
            rows = self.streams
        skip = int(query.get("$skip", 0))
        page: dict[str, Any] = {"value": rows[skip : skip + PAGE]}
        if len(rows) > skip + PAGE:
            more = "&".join(
                f"{k}={quote(v)}" for k, v in (query | {"$skip": str(skip + PAGE)}).items()
            )
            page["@iot.nextLink"] = f"{self.elsewhere or self.url}{path}?{more}"
        return page


def _time(row: dict[str, Any]) -> str:
    return row["phenomenonTime"].split("/")[-1]


def _fits(row: dict[str, Any], query: dict[str, str]) -> bool:
    """Read the filter ``NAME gt TIME or NAME gt TIME``."""
    terms = [one.split(" gt ") for one in query.get("$filter", "").split(" or ") if one]
    said = {"phenomenonTime": _time(row), "resultTime": row.get("resultTime") or ""}
    return not terms or any(said[name][:19] > moment[:19] for name, moment in terms)


@pytest.fixture
def service() -> Iterator[Service]:
    held = Service()

    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            parts = urlsplit(self.path)
            query = {key: one[0] for key, one in parse_qs(parts.query).items()}
            held.asked.append({"path": parts.path, **query})
            if len(held.asked) >= held.fail_from:
                self.send_error(503, "out for lunch")
                return
            body = json.dumps(held.answer(parts.path, query)).encode()
            self.send_response(200)
            self.send_header("Content-Length", str(len(body)))
            self.end_headers()
            self.wfile.write(body)

        def log_message(self, format: str, *args: Any) -> None:  # noqa: A002 - its own name
            pass

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    held.url = f"http://127.0.0.1:{server.server_port}"
    held.streams = [
        {"@iot.id": 1, "name": "north 30",
         "unitOfMeasurement": {"name": "percent", "symbol": "%", "definition": "ucum:%"}},
        {"@iot.id": 2, "name": "north 30 t",
         "unitOfMeasurement": {"name": "x", "symbol": "x", "definition": "x"}},
        {"@iot.id": 3, "name": "wind", "unitOfMeasurement": {}},
        {"@iot.id": 4, "name": "rain", "unitOfMeasurement": {}},
    ]  # fmt: skip
    held.held = {"1": [seen(hour, 20 + hour) for hour in range(8)], "2": [seen(0, 50.0)]}
    yield held
    server.shutdown()
    server.server_close()
    thread.join()


def seen(hour: int, result: object, *, sent: int | None = None) -> dict[str, Any]:
    sent = hour if sent is None else sent
    return {
        "phenomenonTime": f"2024-05-01T{hour:02d}:00:00.000Z",
        "resultTime": f"2024-05-01T{sent:02d}:00:00.000Z",
        "result": result,
    }


def test_pages_are_followed_to_the_end(service: Service) -> None:
    delivery, cursor = pull(f"{service.url}/v1.1", KNOWN, mapping=MAPPING)
    record = delivery.readings[0]
    assert delivery.rows_in == 9
    assert record.site == "N1"
    np.testing.assert_allclose(record.theta[:, 0], (20 + np.arange(8)) / 100)
    assert record.temp_c[0, 0] == pytest.approx(10.0)
    pages = [one for one in service.asked if one["path"].endswith("(1)/Observations")]
    assert [one.get("$skip") for one in pages] == [None, "3", "6"]
    assert all(one["$orderby"] == "phenomenonTime asc" for one in pages)
    assert cursor["1"]["phenomenonTime"] == "2024-05-01T07:00:00.000000Z"


def test_the_next_pull_fetches_only_what_is_new_and_what_came_late(service: Service) -> None:
    service.held["1"] = [one for one in service.held["1"] if "T03" not in one["phenomenonTime"]]
    _, cursor = pull(service.url, KNOWN, mapping=MAPPING)
    delivery, again = pull(service.url, KNOWN, cursor, mapping=MAPPING)
    assert (delivery.rows_in, delivery.readings, again) == (0, (), cursor)
    service.held["1"] += [seen(8, 40), seen(3, 33, sent=9)]
    delivery, moved = pull(service.url, KNOWN, cursor, mapping=MAPPING)
    assert delivery.rows_in == 2
    hours = [str(one)[11:13] for one in delivery.readings[0].times]
    assert hours == ["03", "08"]
    assert moved["1"] == {
        "phenomenonTime": "2024-05-01T08:00:00.000000Z",
        "resultTime": "2024-05-01T09:00:00.000000Z",
    }
    assert pull(service.url, KNOWN, moved, mapping=MAPPING)[0].rows_in == 0


def test_intervals_nulls_and_words(service: Service) -> None:
    service.held["1"] = [
        seen(0, None),
        {"phenomenonTime": "2024-05-01T00:00:00Z/2024-05-01T01:00:00Z", "result": 25},
        seen(2, "wet"),
        {"phenomenonTime": "2024-05-01T03:00:00+01:00", "result": "26.5", "resultTime": None},
        {"phenomenonTime": "soon", "result": 1},
    ]
    delivery, _ = pull(service.url, KNOWN, mapping=MAPPING)
    record = delivery.readings[0]
    read = np.isfinite(record.theta[:, 0])
    assert [str(one)[11:16] for one in record.times[read]] == ["01:00", "02:00"]
    np.testing.assert_allclose(record.theta[read, 0], [0.25, 0.265])
    assert sorted(delivery.rejects["value"]) == ["1", "wet"]
    assert delivery.rows_in == 6


def test_a_failing_server_is_a_sentence_and_moves_no_cursor(service: Service) -> None:
    for fail_from in (1, 2, 3):
        service.asked.clear()
        service.fail_from = fail_from
        with pytest.raises(InputRefused) as caught:
            pull(service.url, KNOWN, mapping=MAPPING)
        assert "503" in caught.value.found
        assert "Nothing was taken" in caught.value.remedy
    service.fail_from = 10**9
    assert pull(service.url, KNOWN, mapping=MAPPING)[0].rows_in == 9


def test_no_other_host_is_asked(service: Service) -> None:
    service.elsewhere = "http://127.0.0.2:9"
    with pytest.raises(InputRefused, match="another address"):
        pull(service.url, KNOWN, mapping=MAPPING)
    with pytest.raises(InputRefused, match="not an address"):
        pull("file:///etc", KNOWN, mapping=MAPPING)


def test_nobody_there() -> None:
    with pytest.raises(InputRefused, match="cannot be reached"):
        pull("http://127.0.0.1:9", KNOWN, mapping=MAPPING)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"datastream": "south"}, "has no such"),
        ({"site": "X"}, "no site 'X'"),
        ({"quantity": "mud"}, "no quantity"),
        ({"depth_cm": None}, "depth_cm"),
        ({"unit": "F"}, "no unit"),
        ({"datastream": 3}, "unit is not known"),
    ],
)
def test_a_mapping_that_does_not_fit(service: Service, change: dict, words: str) -> None:
    mapping = {"datastreams": [MAPPING["datastreams"][0] | change]}
    with pytest.raises(InputRefused, match=words):
        pull(service.url, KNOWN, mapping=mapping)
