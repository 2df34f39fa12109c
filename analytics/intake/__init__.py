"""Files in, valid tables and a list of problems out. Knows no database."""

from analytics.intake.guess import guess_mapping
from analytics.intake.known import Known
from analytics.intake.mapping import describe, header_signature, load_mapping
from analytics.intake.preview import preview, preview_of
from analytics.intake.read import guess_kind, read

__all__ = [
    "Known",
    "describe",
    "guess_kind",
    "guess_mapping",
    "header_signature",
    "load_mapping",
    "preview",
    "preview_of",
    "read",
]
