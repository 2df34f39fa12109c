"""The selection: every session key, and what lives in the address bar.

Each control below is bound to a query parameter of the same name, so that a link reopens
the view it was copied from. Options are written to the address as the words a person reads;
words that would change with the units never stand in an option.
"""

import secrets
from collections.abc import Callable, Mapping, Sequence
from datetime import date as day
from typing import Any, Literal, cast

import streamlit as st

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
    What the address says comes first.
    """
    if st.session_state.get(_PAGE) not in {None, page}:
        for key, (value, words) in st.session_state.get(_KEPT, {}).items():
            if key not in st.query_params:
                st.session_state[key] = value
                if words:
                    st.query_params[key] = words
    st.session_state[_PAGE] = page


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
    return _one_of("Zone", ZONES, ZONE)


def measure() -> str:
    """Show the choice of what colours the map."""
    return _pick("Colour by", MEASURES, MEASURE)


def span() -> str:
    """Show the choice between the whole record and this season."""
    return _one_of("Stretch", SPANS, SPAN)


def likeness() -> str:
    """Show the choice of which fields are set beside one: near, source, soil or crop."""
    return _one_of("Set beside it", LIKES, LIKE)


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
    one = str(st.session_state.get(FIELD) or ids.get(asked() or ""))
    return _noted(FIELD, one, names[one]) if one in names else None


def asked() -> str | None:
    """Say which field the address asks for, before its choice list is drawn."""
    return st.query_params.get(FIELD)


def recall(key: str) -> Any:
    """Give what a component with a key last reported."""
    return st.session_state.get(key)


def _one_of(label: str, options: dict[str, str], key: str) -> str:
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


# --- points ---------------------------------------------------------------------------------

VALUE, DRAG, FROM = "point_value", "point_drag", "point_from"
_OF, _TOLD = "point_of", "told"


def point() -> str:
    """Show the choice of point: full, refill or lower."""
    return _one_of("Point", POINTS, POINT)


def layer(options: dict[str, str]) -> str:
    """Show the choice among a probe's layers, depth to name; the depth lives in the address."""
    held = st.session_state.get(LAYER, st.query_params.get(LAYER))
    st.session_state[LAYER] = held if held in options else next(iter(options))
    chosen = st.selectbox("Layer", list(options), key=LAYER, width=190,
                          format_func=lambda one: options.get(one, str(one)))  # fmt: skip
    st.query_params[LAYER] = chosen
    return chosen


def open_layer(field: str, site: str, depth: str) -> None:
    """Select a layer of a field's full point from a callback."""
    st.session_state[FIELD], st.session_state[LAYER] = field, depth
    st.session_state[POINT], st.session_state[PROBE] = "full", site


def grown(options: dict[str, str]) -> str:
    """Show the choice of a crop that was grown (its planting, ISO, to its name)."""
    held = st.session_state.get(GROWN)
    if held not in options:
        st.session_state[GROWN] = next(iter(options))
    return st.selectbox("Crop", list(options), key=GROWN, width=260,
                        label_visibility="collapsed",
                        format_func=lambda one: options.get(one, str(one)))  # fmt: skip


# --- the season ------------------------------------------------------------------------------

GROWING, ON, START = "growing", "on", "start"


def growing(options: Mapping[str, str]) -> str:
    """Show the choice of a crop, key to name, the first being the default."""
    return _held(GROWING, list(options), lambda: st.selectbox(
        "Crop", list(options), key=GROWING, width=280,
        format_func=lambda one: options.get(one, str(one)),
    ))  # fmt: skip


def _held(key: str, options: list[str], show: Callable[[], str]) -> str:
    """Show a choice that lives in the address where it is not the first."""
    held = st.session_state.get(key, st.query_params.get(key))
    st.session_state[key] = held if held in options else options[0]
    chosen = show()
    if chosen != options[0]:
        st.query_params[key] = chosen
    elif key in st.query_params:
        del st.query_params[key]
    return chosen


def on_day(first: day, last: day) -> day:
    """Show the choice of a day of a crop, the last being the default."""
    return _day_within(ON, "Look from the day", first, last, last)


def start_day(first: day, last: day, usual: day) -> day:
    """Show the choice of the day on which watering would start."""
    return _day_within(START, "Start on", first, last, usual)


def _day_within(key: str, label: str, first: day, last: day, usual: day) -> day:
    told = st.session_state.get(key) or _iso(st.query_params.get(key))
    st.session_state[key] = told if told and first <= told <= last else usual
    chosen = st.date_input(label, min_value=first, max_value=last, key=key, width=170)
    one = chosen if isinstance(chosen, day) else usual
    if one != usual:
        st.query_params[key] = one.isoformat()
    elif key in st.query_params:
        del st.query_params[key]
    return one


def _iso(words: str | None) -> day | None:
    try:
        return day.fromisoformat(words) if words else None
    except ValueError:
        return None


def enter(of: str, value: float) -> None:
    """Begin the entry of a value anew when it is about another point than before."""
    if st.session_state.get(_OF) != of:
        st.session_state[_OF] = of
        offer(value)
        st.session_state[FROM] = TYPED


TYPED = "typed"


def offer(value: float) -> None:
    """Put a value into the entry, from a callback or before it is drawn."""
    st.session_state[VALUE] = st.session_state[DRAG] = round(value, 3)


def follow(key: str) -> None:
    """Let number and slider say the same, after one of them was moved."""
    offer(st.session_state[key])
    retype()


def retype() -> None:
    """Say that the value entered is a person's own, not one of those offered."""
    st.session_state[FROM] = TYPED


def tell(words: str) -> None:
    """Keep a sentence for the run that follows."""
    st.session_state[_TOLD] = words


def told() -> str:
    """Give the sentence that was kept, once."""
    return str(st.session_state.pop(_TOLD, ""))


# --- the Record page ---------------------------------------------------------------------

SITE = "site"
YEAR = "year"
KIND = "kind"
_SAID = "record_said"
_UPLOAD = "record_upload"


def site(options: Mapping[str, str], first: str) -> str:
    """Show the choice of probe, site to its name; ``first`` until one is chosen."""
    chosen = st.selectbox(
        "Probe",
        list(options),
        index=list(options).index(first),
        key=SITE,
        format_func=lambda one: options.get(one, str(one)),
        width=280,
        **ADDRESS,
    )
    return chosen if chosen in options else first


def year(years: Sequence[str]) -> str:
    """Show the choice of a year of the record, the whole of it being the default."""
    return st.selectbox("Stretch", years, key=YEAR, width=170, **ADDRESS) or years[0]


def kinds(options: Mapping[str, str]) -> list[str]:
    """Show the choice among kinds of trouble, code to name; none chosen means all."""
    return st.multiselect(
        "What is wrong", list(options), key=KIND, placeholder="all",
        format_func=lambda one: options.get(one, str(one)), width=360,
    )  # fmt: skip


def remark(sentence: str, *, fine: bool) -> None:
    """Keep a sentence for the next run, which shows it once."""
    st.session_state[_SAID] = (sentence, fine)


def remarked() -> tuple[str, bool] | None:
    """Give the sentence kept by the run before, once."""
    return st.session_state.pop(_SAID, None)


def upload(name: str, content: bytes, lay: Callable[[str, bytes], Any]) -> Any:
    """Lay an uploaded file down once, and give its place as long as it stays the one chosen."""
    sign = (name, len(content), hash(content))
    kept = st.session_state.get(_UPLOAD)
    if kept is None or kept[0] != sign:
        kept = (sign, lay(name, content))
        st.session_state[_UPLOAD] = kept
    return kept[1]


# --- the watering order ------------------------------------------------------------------

QUEUE = "queue"
WHAT_IF = "what_if_"


def queue(options: Mapping[str, str]) -> str:
    """Show the choice of source (id to name), all of them being the default: an empty id."""
    every = {"": "All sources", **options}
    chosen = st.selectbox(
        "Source", list(every), key=QUEUE, format_func=lambda one: every.get(one, str(one)),
        width=220, **ADDRESS,
    )  # fmt: skip
    return chosen if chosen in every else ""


def assume(values: Mapping[str, Any]) -> None:
    """Set the what-if's controls from a callback, by their short names."""
    for name, value in values.items():
        st.session_state[f"{WHAT_IF}{name}"] = value


# --- the growers' meeting ----------------------------------------------------------------

_DEAL, _UNMASK, _WALK = "meeting_deal", "meeting_unmask", "meeting_walk"
WITHHELD = {"withheld": "Withheld", "shown": "Shown"}


def deal() -> str:
    """Give the secret by which this session's letters are dealt."""
    return st.session_state.setdefault(_DEAL, secrets.token_hex(16))


def names_shown() -> bool:
    """Show the choice between letters and names; letters until somebody asks for names."""
    held = st.query_params.get(NAMES)
    st.session_state.setdefault(NAMES, "shown" if held == WITHHELD["shown"] else "withheld")
    chosen = st.segmented_control("Names", list(WITHHELD), key=NAMES, required=True,
                                  format_func=lambda one: WITHHELD[one])  # fmt: skip
    if chosen == "shown":
        st.query_params[NAMES] = WITHHELD["shown"]
    elif NAMES in st.query_params:
        del st.query_params[NAMES]
    return chosen == "shown"


def unmasked() -> str:
    """Ask for a grower to whom their own fields are named; no list, which would name all."""
    return st.text_input("Name one grower's own fields", key=_UNMASK, width=240,
                         placeholder="the grower's name, in full").strip()  # fmt: skip


def walk(fields: Mapping[str, str]) -> list[str]:
    """Show which fields are walked through (id to name), all until one is dropped."""
    held = st.session_state.get(_WALK)
    if held is not None and not set(held) <= set(fields):
        del st.session_state[_WALK]  # the letters were dealt anew
    st.session_state.setdefault(_WALK, list(fields))
    return st.multiselect("Fields in the walk", list(fields), key=_WALK,
                          format_func=lambda one: fields.get(one, str(one)))  # fmt: skip


def step(count: int) -> int:
    """Give the step of the walk that the address asks for, within those there are."""
    asked = st.query_params.get(STEP, "1")
    return min(max(int(asked) if asked.isdecimal() else 1, 1), count)


def turn(to: int) -> None:
    """Go to a step of the walk, from a callback."""
    st.query_params[STEP] = str(to)
