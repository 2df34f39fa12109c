"""Start the dashboard as a process of its own, on this machine only."""

import argparse
import contextlib
import http
import http.client
import importlib.util
import os
import shutil
import signal
import socket
import subprocess
import sys
import time
import webbrowser
from collections.abc import Iterator
from importlib.metadata import distribution
from pathlib import Path

from analytics.cli import sign_in
from analytics.cli.talk import remark, say
from analytics.errors import InputRefused, OverwinterError
from analytics.store import layout
from analytics.store.sight import SHARED_VARIABLE

HOST, EVERY = "127.0.0.1", "0.0.0.0"  # noqa: S104 - only compared with
LOOPBACK = {HOST, "localhost", "::1"}
FIRST_PORT, PORTS = 8501, 20
LEAFLET = "xstatic/pkg/leaflet/data/"
_WANTED = (".png", "/leaflet.js", "/leaflet.css")
_READY_S, _POLL_S, _LEAVE_S = 60.0, 0.1, 5.0

# The same as .streamlit/config.toml, for a start from elsewhere; a test compares the two.
SETTINGS: dict[str, str | int | bool] = {
    "server.address": HOST,
    "server.headless": True,
    "server.enableStaticServing": True,
    "server.maxUploadSize": 200,
    "browser.gatherUsageStats": False,
    "browser.serverAddress": HOST,
    "client.toolbarMode": "minimal",
    "client.showErrorDetails": "none",
    "client.showErrorLinks": False,
    "theme.font": "sans-serif",
    "theme.baseRadius": "4px",
    "theme.light.primaryColor": "#5B2A9D",
    "theme.light.backgroundColor": "#FBFAF7",
    "theme.light.secondaryBackgroundColor": "#F3F0EA",
    "theme.light.textColor": "#1F1B17",
    "theme.light.borderColor": "#D9D3C9",
    "theme.light.linkColor": "#5B2A9D",
    "theme.dark.primaryColor": "#C7AEFF",
    "theme.dark.backgroundColor": "#171513",
    "theme.dark.secondaryBackgroundColor": "#211E1B",
    "theme.dark.textColor": "#F1ECE4",
    "theme.dark.borderColor": "#3B3631",
    "theme.dark.linkColor": "#C7AEFF",
}


def run(asked: argparse.Namespace) -> int:
    """Open the dashboard and stay until it is stopped."""
    layout.require(asked.store)
    _check_reach(asked.address, asked.shared)
    return serve(
        asked.store, asked.port, browser=not asked.no_browser, address=asked.address,
        shared=asked.shared,
    )  # fmt: skip


def _check_reach(address: str, shared: Path | None) -> None:
    """Refuse to open a store to others before they sign in."""
    if shared is None and address not in LOOPBACK:
        where = f"address {address}"
        found = "others could look in without signing in."
        raise InputRefused(where, found, "Add --shared FILE, or leave --address out.")


def serve(
    store: Path,
    port: int | None,
    *,
    browser: bool,
    address: str = HOST,
    shared: Path | None = None,
) -> int:
    """Serve a store until the process is told to stop (Ctrl-C).

    Parameters
    ----------
    store : Path
    port : int or None
        None: the first free one.
    browser : bool
        Open a window.
    address : str
        Where to listen; this machine alone unless told otherwise.
    shared : Path or None
        The file that names the sign-in service; then everybody sees what their role lets them.

    Raises
    ------
    InputRefused
        When the port asked for is taken.
    OverwinterError
        When the dashboard does not start.
    """
    chosen = free_port() if port is None else _checked(port)
    provide_leaflet(_dashboard() / "static" / "leaflet")
    words, env = command(chosen, address, shared), environment(store, shared=bool(shared))
    with _running(words, env) as process:
        reached = HOST if address == EVERY else address
        _await(process, reached, chosen)
        opened = f"http://{reached}:{chosen}"
        say(f"Overwinter is open at {opened}  (stop it with Ctrl-C)")
        sys.stdout.flush()
        if browser:
            webbrowser.open(opened)
        process.wait()
    return 0


def command(port: int, address: str = HOST, shared: Path | None = None) -> list[str]:
    """Give the words that start the dashboard with our settings."""
    app = str(_dashboard() / "app.py")
    settings = SETTINGS | {"server.address": address}
    if shared is not None:
        settings["secrets.files"] = str(shared.absolute())
        settings["browser.serverAddress"] = sign_in.public_host(shared)
    flags = [f"--{name}={_flag(value)}" for name, value in settings.items()]
    # -P: else a file click.py or queue.py in the folder one stands in would run instead.
    start = [sys.executable, "-P", "-m", "streamlit", "run", app]
    return [*start, f"--server.port={port}", *flags]


def environment(store: Path, *, shared: bool = False) -> dict[str, str]:
    """Give the dashboard's environment: ours, which store it shows, and whether to others."""
    told = {"OVERWINTER_STORE": str(store.absolute()), SHARED_VARIABLE: str(int(shared))}
    return {**os.environ, **told}


def free_port() -> int:
    """Find a free port, beginning with the usual one."""
    for port in range(FIRST_PORT, FIRST_PORT + PORTS):
        if _is_free(port):
            return port
    where = f"ports {FIRST_PORT} to {FIRST_PORT + PORTS - 1}"
    raise InputRefused(where, "all are taken.", "Name a free one with --port N.")


def provide_leaflet(folder: Path) -> None:
    """Put the map library's own files where the dashboard serves them, unless they are there.

    They come from an installed package that carries them, so that no address outside is asked.
    """
    if (folder / "leaflet.js").exists():
        return
    package = distribution("xstatic-leaflet")
    for one in package.files or ():
        name = one.as_posix()
        if name.startswith(LEAFLET) and name.endswith(_WANTED):
            target = folder / name.removeprefix(LEAFLET)
            target.parent.mkdir(parents=True, exist_ok=True)
            shutil.copyfile(str(package.locate_file(one)), target)


def _flag(value: object) -> str:
    return str(value).lower() if isinstance(value, bool) else str(value)


def _dashboard() -> Path:
    """Find the dashboard's folder without importing it."""
    found = importlib.util.find_spec("dashboard")
    if found is None or not found.submodule_search_locations:
        message = "The dashboard is not installed beside the program. Install overwinter again."
        raise OverwinterError(message)
    return Path(found.submodule_search_locations[0])


def _checked(port: int) -> int:
    if not _is_free(port):
        where = f"port {port}"
        found = "another program answers there."
        raise InputRefused(where, found, "Stop it, or name another with --port N.")
    return port


def _is_free(port: int) -> bool:
    with socket.socket() as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((HOST, port))
        except OSError:
            return False
    return True


@contextlib.contextmanager
def _running(words: list[str], env: dict[str, str]) -> Iterator[subprocess.Popen[bytes]]:
    """Run the dashboard; whatever ends us ends it too."""
    signal.signal(signal.SIGTERM, _stop)
    process = subprocess.Popen(words, env=env, stdout=subprocess.DEVNULL)  # noqa: S603
    try:
        yield process
    except KeyboardInterrupt:
        remark("\nStopped.")
    finally:
        process.terminate()
        try:
            process.wait(_LEAVE_S)
        except subprocess.TimeoutExpired:
            process.kill()


def _stop(*_: object) -> None:
    raise KeyboardInterrupt


def _await(process: subprocess.Popen[bytes], host: str, port: int) -> None:
    """Wait until the dashboard answers."""
    until = time.monotonic() + _READY_S
    while not _healthy(host, port):
        if process.poll() is not None or time.monotonic() > until:
            message = "The dashboard did not start; what it said is above. Nothing was changed."
            raise OverwinterError(message)
        time.sleep(_POLL_S)


def _healthy(host: str, port: int) -> bool:
    asking = http.client.HTTPConnection(host, port, timeout=1)
    try:
        asking.request("GET", "/_stcore/health")
        return asking.getresponse().status == http.HTTPStatus.OK
    except (OSError, http.client.HTTPException):
        return False
    finally:
        asking.close()
