"""Read the command line, run the command, turn refusals into a sentence and a status."""

import argparse
import errno
import importlib
import os
import sys
from collections.abc import Callable, Sequence
from datetime import date
from pathlib import Path

from analytics.cli import (
    allowing,
    bringing,
    choosing,
    copying,
    keeping,
    pulling,
    removing,
    serving,
)
from analytics.cli.talk import complain
from analytics.contract import TABLES
from analytics.errors import OverwinterError
from analytics.report.export import FORMATS
from analytics.store.people import BOOKS
from analytics.store.sight import ROLES

DONE, REFUSED = 0, 1
_PARTS = argparse._SubParsersAction


def main(argv: Sequence[str] | None = None) -> int:
    """Run the program.

    Parameters
    ----------
    argv : sequence of str, optional
        The words after the program's name; those of this process when left out.

    Returns
    -------
    int
        0 done, 1 refused. Wrong usage ends the process with status 2.
    """
    asked = _parser().parse_args(argv)
    try:
        return asked.run(asked)
    except OverwinterError as why:
        complain(str(why))
    except BrokenPipeError:
        # Whoever read our output (head, less) has seen enough.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return DONE
    except OSError as why:
        complain(_sentence(why))
    except KeyboardInterrupt:
        complain("Stopped. What was finished is kept; repeat the command to go on.")
    return REFUSED


def _sentence(why: OSError) -> str:
    """Say what the system refused, and what to do."""
    if why.errno in {errno.ENOSPC, errno.EDQUOT, errno.EFBIG}:
        told = f"There is no room left to write ({why.strerror})"
        return f"{told}. What was there is unharmed; make room and repeat the command."
    return f"{why.filename or 'the system'}: {why.strerror or why}. Check it and repeat."


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="overwinter",
        description="How much water each field's soil holds going into the season, by layer.",
    )
    parts = parser.add_subparsers(required=True, metavar="COMMAND")
    for add in (
        _demo,
        _init,
        _import,
        _assess,
        _table,
        _serve,
        _check,
        _backup,
        _restore,
        _allow,
        _report,
        _export,
        _set,
        _remove,
    ):
        add(parts)
    return parser


def _command(
    parts: _PARTS, name: str, run: Callable[[argparse.Namespace], int], said: str
) -> argparse.ArgumentParser:
    command = parts.add_parser(name, help=said, description=said)
    command.set_defaults(run=run)
    return command


def _later(module: str) -> Callable[[argparse.Namespace], int]:
    """Load a command's module when it runs: the science takes seconds that others save."""

    def run(asked: argparse.Namespace) -> int:
        return importlib.import_module(f"analytics.cli.{module}").run(asked)

    return run


def _store(command: argparse.ArgumentParser) -> None:
    command.add_argument("store", metavar="STORE", type=Path, help="the store's folder")


def _window(command: argparse.ArgumentParser) -> None:
    command.add_argument("--port", metavar="N", type=_port, help="where the dashboard answers")
    command.add_argument(
        "--no-browser", action="store_true", help="do not open a browser window"
    )


def _demo(parts: _PARTS) -> None:
    said = "build the demonstration store if it is missing, then open the dashboard"
    command = _command(parts, "demo", _later("demonstration"), said)
    command.add_argument(
        "--store", metavar="DIR", type=Path, default=Path("demo_store"), help="where to"
    )
    _window(command)


def _init(parts: _PARTS) -> None:
    command = _command(parts, "init", keeping.init, "make an empty store")
    _store(command)
    command.add_argument("--units", choices=("in", "mm"), default="in", help="shown first")


def _import(parts: _PARTS) -> None:
    command = _command(parts, "import", bringing.run, "take files into a store")
    _store(command)
    said = "file or folder, or the address of a SensorThings service"
    command.add_argument("paths", metavar="PATH", type=pulling.place, nargs="+", help=said)
    kinds = [one.name for one in TABLES.values() if one.role != "result"]
    kinds.append(pulling.SENSORTHINGS)
    command.add_argument(
        "--as", dest="kind", metavar="KIND", choices=kinds,
        help=f"what the files hold, guessed when left out: {', '.join(kinds)}",
    )  # fmt: skip
    command.add_argument(
        "--mapping", metavar="FILE", type=Path, help="how a logger's file is read (JSON)"
    )
    command.add_argument(
        "--dry-run", action="store_true",
        help="write nothing; print the mapping as JSON, to be edited and given back",
    )  # fmt: skip
    command.add_argument(
        "--again", action="store_true",
        help="take files that were taken before, too: what they say wins again",
    )  # fmt: skip


def _assess(parts: _PARTS) -> None:
    said = "work out every result of the sites whose data changed"
    command = _command(parts, "assess", _later("assessing"), said)
    _store(command)
    command.add_argument(
        "--as-of", metavar="DATE", type=_day, help="the last day that counts as known"
    )
    command.add_argument(
        "--workers", metavar="N", type=_count, default=os.cpu_count() or 1, help="processes"
    )
    command.add_argument(
        "--cluster",
        metavar="ADDRESS",
        help="a dask.distributed scheduler, such as tcp://HOST:8786",
    )
    command.add_argument("--all", action="store_true", help="also sites that did not change")


def _table(parts: _PARTS) -> None:
    command = _command(parts, "table", keeping.table, "print or write out a table")
    _store(command)
    command.add_argument(
        "name", metavar="NAME", choices=(*TABLES, *BOOKS),
        help=f"one of: {', '.join((*TABLES, *BOOKS))}",
    )  # fmt: skip
    command.add_argument("--format", choices=FORMATS, default="text", help="form of the table")
    command.add_argument("--out", metavar="FILE", type=Path, help="file to write to")


def _serve(parts: _PARTS) -> None:
    command = _command(parts, "serve", serving.run, "open the dashboard on a store")
    _store(command)
    _window(command)
    command.add_argument(
        "--shared", metavar="FILE", type=Path,
        help="everybody signs in; FILE says with which service (see README)",
    )  # fmt: skip
    command.add_argument(
        "--address", metavar="HOST", default=serving.HOST,
        help="where it listens; other than this machine only with --shared",
    )  # fmt: skip


def _check(parts: _PARTS) -> None:
    said = "look over a store: integrity, and what is missing or suspect"
    _store(_command(parts, "check", keeping.check, said))


def _backup(parts: _PARTS) -> None:
    said = "copy a whole store into one file, checked as it is read back"
    command = _command(parts, "backup", copying.back_up, said)
    _store(command)
    command.add_argument(
        "--out", metavar="FILE", type=Path, required=True, help="the copy, a plain tar"
    )


def _restore(parts: _PARTS) -> None:
    command = _command(parts, "restore", copying.restore, "make a store of a copy")
    command.add_argument("copy", metavar="FILE", type=Path, help="what backup made")
    _store(command)


def _allow(parts: _PARTS) -> None:
    said = "give somebody a role on a shared server, or take it away"
    command = _command(parts, "allow", allowing.run, said)
    _store(command)
    command.add_argument("email", metavar="EMAIL", help="as the sign-in service names them")
    command.add_argument(
        "--role", choices=(*ROLES, "none"), required=True, help="none: taken away"
    )
    command.add_argument(
        "--grower", metavar="NAME", action="append", default=[],
        help="whose fields a grower sees; may be given more than once",
    )  # fmt: skip


def _report(parts: _PARTS) -> None:
    said = "make pages to take away (PDF): of fields, of a grower's fields, or of the district"
    command = _command(parts, "report", _later("reporting"), said)
    _store(command)
    command.add_argument(
        "--field", metavar="ID", action="append", default=[], help="a page for this field"
    )
    command.add_argument("--grower", metavar="NAME", default="", help="this grower's fields")
    command.add_argument(
        "--masked", action="store_true", help="letters for growers, fields, probes and sources"
    )
    command.add_argument("--units", choices=("in", "mm"), help="else those of the store")
    command.add_argument("--paper", choices=("letter", "a4"), default="letter")
    command.add_argument("--out", metavar="FILE", type=Path, required=True,
                         help="a .pdf, or a .pptx: the growers' meeting as slides")  # fmt: skip


def _export(parts: _PARTS) -> None:
    said = "write every table into one GeoPackage for a GIS; readings and days stay apart"
    command = _command(parts, "export", keeping.export_all, said)
    _store(command)
    command.add_argument("--out", metavar="FILE", type=Path, required=True, help="a .gpkg file")


def _set(parts: _PARTS) -> None:
    said = "list a store's thresholds with their meaning and source, or set some otherwise"
    command = _command(parts, "set", choosing.run, said)
    _store(command)
    command.add_argument(
        "choices", metavar="NAME=VALUE", nargs="*",
        help="a threshold and its value; without a value: its default again",
    )  # fmt: skip


def _remove(parts: _PARTS) -> None:
    said = "take wrong rows or readings out; they are kept aside"
    command = _command(parts, "remove", removing.run, said)
    _store(command)
    command.add_argument(
        "table", metavar="TABLE", help="seasons, water, sites, ..., or readings"
    )
    command.add_argument(
        "rows", metavar="COLUMN=VALUE", nargs="+",
        help="by its key: field=F7 planted_on=2025-05-04, or installed_on= for a blank one; "
        "readings by site=S from=2024-06-01 to=2024-06-30",
    )  # fmt: skip
    command.add_argument("--every", action="store_true", help="if more rows than one are meant")


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        message = f"{text!r} is not a date like 2024-11-05"
        raise argparse.ArgumentTypeError(message) from None


def _count(text: str) -> int:
    if not text.isdecimal() or int(text) < 1:
        message = f"{text!r} is not a count of 1 or more"
        raise argparse.ArgumentTypeError(message)
    return int(text)


def _port(text: str) -> int:
    last = 65_535
    if not text.isdecimal() or not 0 < int(text) <= last:
        message = f"{text!r} is not a port from 1 to {last}"
        raise argparse.ArgumentTypeError(message)
    return int(text)
