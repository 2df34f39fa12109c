"""The launcher: the same settings from anywhere, files of its own, a clean end."""

import http.client
import signal
import socket
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

from analytics.cli import main, serving
from analytics.errors import InputRefused
from analytics.store import layout

ROOT = Path(__file__).parents[2]
EVERYWHERE = "0.0.0.0"  # noqa: S104 - what the test is about


def flat(settings: dict[str, object], before: str = "") -> Iterator[tuple[str, object]]:
    for name, value in settings.items():
        if isinstance(value, dict):
            yield from flat(value, f"{before}{name}.")
        else:
            yield f"{before}{name}", value


def test_the_launcher_gives_the_settings_of_the_file() -> None:
    with (ROOT / ".streamlit" / "config.toml").open("rb") as file:
        assert dict(flat(tomllib.load(file))) == serving.SETTINGS


def test_files_in_the_folder_one_stands_in_are_not_run(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "streamlit.py").write_text("raise SystemExit(9)")
    monkeypatch.chdir(tmp_path)
    words = serving.command(8501)
    until = words[: words.index("streamlit") + 1]
    run = subprocess.run([*until, "version"], capture_output=True, text=True, check=False)
    assert run.returncode == 0, run.stderr


def test_leaflet_is_put_where_it_is_served(tmp_path: Path) -> None:
    folder = tmp_path / "leaflet"
    serving.provide_leaflet(folder)
    names = {
        path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file()
    }
    assert {"leaflet.js", "leaflet.css", "images/marker-icon.png"} <= names
    assert not any(one.endswith(".map") for one in names)
    (folder / "leaflet.css").write_text("kept")
    serving.provide_leaflet(folder)
    assert (folder / "leaflet.css").read_text() == "kept"


def test_a_taken_port_is_said(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    layout.create(tmp_path / "store")
    with socket.socket() as taken:
        taken.bind((serving.HOST, 0))
        taken.listen()
        port = taken.getsockname()[1]
        assert (
            main(["serve", str(tmp_path / "store"), "--port", str(port), "--no-browser"]) == 1
        )
    assert f"port {port}: another program answers there" in capsys.readouterr().err


def test_no_free_port_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(serving, "_is_free", lambda _: False)
    with pytest.raises(InputRefused, match="--port"):
        serving.free_port()


def test_it_starts_elsewhere_and_stops_with_its_launcher(tmp_path: Path) -> None:
    layout.create(tmp_path / "store")
    code = "import sys; from analytics.cli import main; sys.exit(main(sys.argv[1:]))"
    port = serving.free_port()
    words = ["serve", "store", "--port", str(port), "--no-browser"]
    with subprocess.Popen(
        [sys.executable, "-c", code, *words], cwd=tmp_path, text=True,
        stdout=subprocess.PIPE, stderr=subprocess.PIPE,
    ) as process:  # fmt: skip
        assert process.stdout
        said = process.stdout.readline()
        assert f"http://127.0.0.1:{port}" in said, process.communicate()
        process.send_signal(signal.SIGTERM)
        _, complained = process.communicate(timeout=60)
    assert process.returncode == 0
    assert "Traceback" not in complained
    asking = http.client.HTTPConnection(serving.HOST, port, timeout=1)
    with pytest.raises(OSError, match="refused"):
        asking.request("GET", "/")


GOOD = {
    "redirect_uri": "https://fields.example.org/oauth2callback", "cookie_secret": "x" * 32,
    "client_id": "a", "client_secret": "b", "server_metadata_url": "https://login.example.org/",
}  # fmt: skip


def told(folder: Path, **changed: str) -> Path:
    lines = [f'{name} = "{value}"' for name, value in {**GOOD, **changed}.items()]
    (folder / "sign_in.toml").write_text("\n".join(["[auth]", *lines]))
    return folder / "sign_in.toml"


def test_a_store_is_opened_to_others_only_with_signing_in(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    layout.create(tmp_path / "store")
    assert main(["serve", str(tmp_path / "store"), "--address", EVERYWHERE]) == 1
    assert "could look in without signing in" in capsys.readouterr().err


def test_a_shared_server_is_known_by_its_public_name(tmp_path: Path) -> None:
    words = serving.command(8501, EVERYWHERE, told(tmp_path))
    assert "--browser.serverAddress=fields.example.org" in words
    assert "--server.address=0.0.0.0" in words
    assert serving.environment(tmp_path, shared=True)["OVERWINTER_SHARED"] == "1"
    assert serving.environment(tmp_path)["OVERWINTER_SHARED"] == "0"


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"client_id": ""}, r"\[auth\] has no client_id"),
        ({"cookie_secret": "short"}, "could be guessed"),
        ({"redirect_uri": "https://fields.example.org/"}, "does not end in /oauth2callback"),
    ],
)
def test_a_file_that_cannot_sign_anybody_in_is_refused(
    tmp_path: Path, changed: dict[str, str], said: str
) -> None:
    with pytest.raises(InputRefused, match=said):
        serving.command(8501, shared=told(tmp_path, **changed))


def test_a_file_that_is_missing_or_no_toml_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputRefused, match="no such file"):
        serving.command(8501, shared=tmp_path / "none.toml")
    (tmp_path / "odd.toml").write_text("[auth\n")
    with pytest.raises(InputRefused, match="is no TOML"):
        serving.command(8501, shared=tmp_path / "odd.toml")
