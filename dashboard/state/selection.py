"""What is selected on more than one page: session keys, and what lives in the address bar.

Each control below is bound to a query parameter of the same name, so that a link reopens
the view it was copied from. Options are written to the address as the words a person reads;
words that would change with the units never stand in an option.
"""

from collections.abc import Callable, Mapping, Sequence
from typing import Any, Literal, cast
from urllib.parse import parse_qs

import streamlit as st
from streamlit.runtime.scriptrunner import get_script_run_ctx

from analytics.units import System

Theme = Literal["light", "dark"]

FIELD = "field"
DATE = "date"
UNITS = "units"
ZONE = "zone"
MEASURE = "measure"
GROWER = "grower"
SOURCE = "source"
CROP = "crop"
PROBE = "probe"
WINTER = "winter"
SPAN = "span"
LAYER = "layer"
POINT = "point"
GROWN = "grown"
LIKE = "beside"
STEP, NAMES = "step", "names"

# What an option is called in the address too, so never a word that the units would change.
ZONES = {"deep": "Deep", "upper": "Upper", "profile": "Whole profile"}
MEASURES = {
    "short": "Short now",
    "change": "Change over winter",
    "since": "Days since last full",
    "age": "Age of data",
}
POINTS = {"full": "Full", "refill": "Refill", "lower": "Lower"}
LIKES = {
    "near": "Nearest",
    "source": "Same source",
    "soil": "Same soil",
    "crop": "Same last crop",
}
SPANS = {"record": "Whole record", "season": "This season"}

ADDRESS: dict[str, Any] = {"bind": "query-params", "persist_state": "session"}


PAGES_OWN = {SPAN, LIKE}
"""Choices that mean something on one page only."""
_KEPT, _PAGE = "kept", "page"


def carry(page: str) -> None:
    """Hand the selection to a page that was just turned to, before it draws its choices.

    A bound choice is persisted by Streamlit, but a page's first run still sees the default.
    What the address says comes first, and after Back or Forward nothing else is said.
    """
    if st.session_state.get(_PAGE) not in {None, page}:
        if went_back():
            _whole_address()
        else:
            _hand_over()
    st.session_state[_PAGE] = page


def _hand_over() -> None:
    told = {}
    for key, (value, words) in st.session_state.get(_KEPT, {}).items():
        if key not in st.query_params:
            st.session_state[key] = value
            if words:
                told[key] = words
    if told:  # at once: each change of the address is one more press of Back
        st.query_params.update(told)


def went_back() -> bool:
    """Tell whether this run follows from the browser's Back or Forward."""
    run = get_script_run_ctx(suppress_warning=True)
    return run is not None and run.is_history_navigation


def _whole_address() -> None:
    """Let the choices of a page that Back led to read all that the address says.

    Streamlit strikes out what the page left behind has under the same names, and then shows
    defaults under an address that says otherwise.
    """
    run = get_script_run_ctx()
    if run is None:
        return
    address = run.query_string
    st.query_params.from_dict(parse_qs(address))
    with run.session_state.query_params() as read_by_choices:
        read_by_choices.set_initial_query_params(address)


def held(key: str) -> Any:
    """Give what a choice that Streamlit does not bind holds, or the address asks of it."""
    if went_back():
        return st.query_params.get(key)
    return st.session_state.get(key, st.query_params.get(key))


def forget_address(page: str) -> None:
    """Take what names a field or grower out of the address; other pages get it back later."""
    for key in set(st.query_params) - {STEP, NAMES, UNITS}:
        del st.query_params[key]
    st.session_state[_PAGE] = page


def _noted(key: str, value: Any, words: str | list[str] | None) -> Any:
    """Remember a choice, and its words in the address, for the next page; give it back.

    ``words`` is None or empty for a default, which no address needs.
    """
    st.session_state.setdefault(_KEPT, {})[key] = (value, words)
    return value


def _default(key: str, value: Any) -> Any:
    """Give a choice its default, unless a value was handed to it."""
    return None if key in st.session_state else value


def theme() -> Theme:
    """Say whether the reader's browser shows the light or the dark theme."""
    return "dark" if st.context.theme.type == "dark" else "light"


def units(default: System) -> System:
    """Show the choice between inches and millimetres, and return it."""
    chosen = st.segmented_control(
        "Units",
        ["in", "mm"],
        default=_default(UNITS, default),
        required=True,
        key=UNITS,
        **ADDRESS,
    )
    system = cast("System", chosen or default)
    return _noted(UNITS, system, system if system != default else None)


def zone() -> str:
    """Show the choice of zone: deep, upper or profile."""
    return one_of("Zone", ZONES, ZONE)


def measure() -> str:
    """Show the choice of what colours the map."""
    return _pick("Colour by", MEASURES, MEASURE)


def span() -> str:
    """Show the choice between the whole record and this season."""
    return one_of("Stretch", SPANS, SPAN)


def likeness() -> str:
    """Show the choice of which fields are set beside one: near, source, soil or crop."""
    return one_of("Set beside it", LIKES, LIKE)


def date(dates: Sequence[str], name: Callable[[str], str]) -> str:
    """Show the choice among dates (ISO), the first being the default.

    Parameters
    ----------
    dates : sequence of str
        Latest first; never empty.
    name : callable
        Writes a date for people.
    """
    day = st.selectbox("Date", dates, key=DATE, format_func=name, width=150, **ADDRESS)
    return _noted(DATE, day, name(day) if day != dates[0] else None)


def filters(choices: Mapping[str, Sequence[str]]) -> dict[str, list[str]]:
    """Show the filters, key to options, and return what was chosen of each."""
    labels = {GROWER: "Grower", SOURCE: "Source", CROP: "Next crop"}
    chosen = {}
    for key, options in choices.items():
        picked = st.multiselect(
            labels[key], options, key=key, placeholder="all", width=150, **ADDRESS
        )
        chosen[key] = _noted(key, picked, picked)
    return chosen


def field(names: dict[str, str], *, placeholder: str, width: Any = "stretch") -> str | None:
    """Show the choice list of fields, id to unique name, and return the id chosen."""
    chosen = st.selectbox(
        "Field",
        list(names),
        index=None,
        key=FIELD,
        format_func=lambda one: names.get(one, str(one)),
        placeholder=placeholder,
        width=width,
        **ADDRESS,
    )
    return _noted(FIELD, chosen, names.get(chosen) if chosen else None)


def probe(sites: Sequence[str]) -> str:
    """Show the choice among several probes of one field; a single one needs no choice."""
    if len(sites) == 1:
        return sites[0]
    return st.selectbox("Probe", sites, key=PROBE, width=150, **ADDRESS)


def winter(options: dict[str, str]) -> str | None:
    """Show the choice of off-season (its first day, ISO, to its name), latest first."""
    if not options:
        return None
    return st.selectbox(
        "Off-season", list(options), key=WINTER, format_func=lambda one: options[one],
        width=260, label_visibility="collapsed", **ADDRESS,
    )  # fmt: skip


def choose(one: str | None) -> None:
    """Select a field from a callback, before the choice list is drawn again."""
    if one:
        st.session_state[FIELD] = one


def picked(names: Mapping[str, str]) -> str | None:
    """Give the field that is selected, where a page shows no choice list; keep it for the next.

    ``names`` are those of the choice lists elsewhere, by id.
    """
    ids = {name: one for one, name in names.items()}
    if went_back():
        st.session_state[FIELD] = ids.get(asked() or "")
    one = str(st.session_state.get(FIELD) or ids.get(asked() or ""))
    return _noted(FIELD, one, names[one]) if one in names else None


def asked() -> str | None:
    """Say which field the address asks for, before its choice list is drawn."""
    return st.query_params.get(FIELD)


def recall(key: str) -> Any:
    """Give what a component with a key last reported."""
    return st.session_state.get(key)


def one_of(label: str, options: dict[str, str], key: str) -> str:
    """Show a choice side by side, key to name, the first being the default."""
    first = next(iter(options))
    got = st.segmented_control(
        label, list(options), default=_default(key, first), required=True, key=key,
        format_func=lambda one: options[one], **ADDRESS,
    )  # fmt: skip
    chosen = got or first
    if key in PAGES_OWN:
        return chosen
    return _noted(key, chosen, options[chosen] if chosen != first else None)


def _pick(label: str, options: dict[str, str], key: str) -> str:
    got = st.selectbox(
        label, list(options), key=key, format_func=lambda one: options[one], width=200,
        **ADDRESS,
    )  # fmt: skip
    return _noted(key, got, options[got] if got != next(iter(options)) else None)
