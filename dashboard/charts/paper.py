"""Charts and drawings as pictures for paper: SVG and PNG, made here, without a network."""

import json
import re
from typing import Any

import vl_convert

WIDTH_PX = 900
SCALE = 2.0
"""A PNG carries so many dots for each px, so that it prints sharp."""


def svg_of(spec: dict[str, Any]) -> str:
    """Draw a specification as SVG."""
    return vl_convert.vegalite_to_svg(json.dumps(spec))


def png_of(spec: dict[str, Any]) -> bytes:
    """Draw a specification as PNG."""
    return vl_convert.vegalite_to_png(json.dumps(spec), scale=SCALE)


def png_of_svg(drawing: str) -> bytes:
    """Draw an SVG of our own as PNG."""
    return vl_convert.svg_to_png(sized(drawing), scale=SCALE)


def sized(drawing: str) -> str:
    """Give an SVG that fills its place the size of its own view box, for use by itself."""
    box = re.search(r'viewBox="0 0 ([\d.]+) ([\d.]+)"', drawing)
    head, _, rest = drawing.partition(">")
    if box is None or ' width="' in head:
        return drawing
    return f'{head} width="{box[1]}" height="{box[2]}">{rest}'
