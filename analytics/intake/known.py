"""What the store already knows, handed to intake so that it needs no database."""

from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """What a file may refer to.

    Attributes
    ----------
    sites : dict
        Site id to IANA timezone.
    fields : frozenset of str
        Field ids.
    shapes : dict
        Field id to its boundary, WGS 84, well-known binary.
    mappings : dict
        Header signature (``header_signature``) to the mapping saved for it.
    clocks : dict
        Site id to the clock that its files were last said to keep.
    """

    sites: dict[str, str] = field(default_factory=dict)
    fields: frozenset[str] = frozenset()
    shapes: dict[str, bytes] = field(default_factory=dict)
    mappings: dict[str, dict] = field(default_factory=dict)
    clocks: dict[str, str] = field(default_factory=dict)
