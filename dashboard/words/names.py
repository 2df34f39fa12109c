"""Names of classes, states and flags, and the sentences that stand on every page."""

CLASS_NAMES = {
    "depleted": "Depleted",
    "low": "Low",
    "partial": "Partial",
    "near_full": "Near full",
    "full": "Full",
}
NOT_KNOWN = "Not known"
HELD = "Frozen, held"

BASIS_NAMES = {
    "learned": "learned in place",
    "provisional": "provisional",
    "not_yet_seen": "not yet seen full",
    "texture": "from a texture table",
    "set": "set by hand",
}

FLAG_NAMES = {
    "range": "out of range",
    "spike": "spike",
    "stuck": "stuck",
    "step": "step",
    "frozen": "frozen",
    "settling": "settling",
    "duplicate": "read twice",
    "unit": "unit in doubt",
    "failing": "sensor failing",
    "clock": "clock in doubt",
    "frost_edge": "near freezing",
    "placeless": "before the probe was placed",
    "gap": "no readings",
    "low_flat": "flat at its lowest",
    "plateau": "flat at its top",
}

CAUTIONS = (
    "This supports a decision; it is not an instruction.",
    "Local water rules, permits, allocations and metering come first.",
    "So does licensed agronomic and engineering advice.",
    "Water on frozen ground or on a full profile runs off or carries nitrate down.",
    "Mark buried cables and probes before tillage.",
    "Call the local utility-marking service before digging.",
    "Lightning, electricity and moving pivots: keep to the site's safety rules.",
)

EMPTY_FIELD = "No probe has reported for this field. Import a logger file in Record."
NOT_NOW = "This page cannot be shown as the store stands."
EMPTY_STORE = "This store holds no fields yet. Import fields, sites and readings to begin."
EMPTY_DATE = "Nothing is known for this date. Choose a date within the record."
EMPTY_FILTER = "No field matches these choices."
EMPTY_FILTER_DO = "Widen one of them."
NO_TALLY = "No off-season is on record here yet: it begins at a harvest."
NO_SEASONS = "No crop is on record for this field. Import its seasons to part the years."


def no_such_field(asked: str, shown: str) -> str:
    """Say that a link names a field that is not there, and which one is shown."""
    return f"No field here is called “{asked}”. {shown} is shown instead."


def class_name(code: str | None) -> str:
    """Name a class of fill, or say that it is not known."""
    return CLASS_NAMES.get(code or "", NOT_KNOWN)


def basis_words(basis: object) -> str:
    """Say what a figure rests on: one state, or a count of layers by state.

    ``learned`` gives "learned in place"; ``learned:4;texture:2`` gives "learned in place in 4
    layers, from a texture table in 2".
    """
    if not isinstance(basis, str) or not basis:
        return "not known"
    parts = [one.partition(":")[::2] for one in basis.split(";")]
    names = [(BASIS_NAMES.get(state, state.replace("_", " ")), count) for state, count in parts]
    if len(names) == 1:
        return names[0][0]
    (name, count), *others = names
    first = f"{name} in {count} {'layer' if count == '1' else 'layers'}"
    return ", ".join([first, *(f"{name} in {count}" for name, count in others)])


def flag_name(flag: str) -> str:
    """Name a flag as people say it."""
    return FLAG_NAMES.get(flag, flag.replace("_", " "))


def basis_note(basis: object) -> str:
    """Say in a few words what the full points rest on, for the line under an answer."""
    said = basis_words(basis)
    return "What the points rest on is not known." if said == "not known" else f"Points {said}."


def loading(count: int) -> str:
    """Say what is being read."""
    return f"Reading {count} {'field' if count == 1 else 'fields'}…"


def trouble(where: str, found: str, remedy: str) -> str:
    """Say which thing, what was found, and what to do."""
    return f"{where}: {found} {remedy}"
