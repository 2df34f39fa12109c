"""Take readings from a web service: fetch what is new, take it, then keep how far we are."""

import argparse
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

from analytics.cli.talk import complain, remark, say
from analytics.errors import InputRefused, OverwinterError
from analytics.intake import Known, preview_of
from analytics.intake.sensorthings import pull
from analytics.model import Delivery
from analytics.store import cursors, importing
from analytics.store.importing import Outcome

SENSORTHINGS = "sensorthings"


def place(text: str) -> Path | str:
    """Read a word of the command line as an address of the web or a path."""
    return text if text.lower().startswith(("http://", "https://")) else Path(text)


def mapping_of(asked: argparse.Namespace) -> dict[str, Any]:
    """Read the mapping of a service's Datastreams."""
    fits = asked.kind == SENSORTHINGS and all(isinstance(one, str) for one in asked.paths)
    if not fits or asked.mapping is None:
        found = "a service is given by its address, what it is, and how it is read."
        remedy = f"Write: import STORE https://HOST/v1.1 --as {SENSORTHINGS} --mapping FILE."
        raise InputRefused(str(asked.paths[0]), found, remedy)
    try:
        mapping = json.loads(asked.mapping.read_text(encoding="utf-8-sig"))
    except ValueError as error:
        found = f"this is not a mapping in JSON ({error})."
        raise InputRefused(asked.mapping.name, found, "Correct it.") from error
    if not isinstance(mapping, dict):
        found = "the mapping is not an object with datastreams."
        raise InputRefused(asked.mapping.name, found, "Correct it.")
    return mapping


def run(
    asked: argparse.Namespace, told: Callable[[Path | str, Delivery, Outcome], None]
) -> int:
    """Pull from the services named; a trial shows the first readings and writes nothing."""
    mapping = mapping_of(asked)
    refused = False
    for service in asked.paths:
        try:
            known = importing.known(asked.store)
            since = cursors.find(asked.store, service)
            delivery, cursor = pull(service, known, since, mapping=mapping)
            if asked.dry_run:
                _show(service, importing.foreseen(asked.store, delivery), known)
                continue
            outcome = importing.take(asked.store, delivery)
            cursors.save(asked.store, service, cursor)
            told(service, delivery, outcome)
        except OverwinterError as why:
            refused = True
            complain(str(why))
    return int(refused)


def _show(service: str, delivery: Delivery, known: Known) -> None:
    remark(f"{service}: {delivery.rows_in} new observations. Nothing was written.")
    for note in delivery.notes:
        remark(f"  {note}")
    if delivery.readings:
        say(preview_of(delivery, known).to_string(index=False, na_rep=""))
