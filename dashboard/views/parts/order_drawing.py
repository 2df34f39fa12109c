"""A wide drawing that keeps its type readable: where there is no room it scrolls sideways."""

from streamlit.components.v2 import component

_drawing = component(
    "overwinter_wide_drawing",
    html='<div class="wide" tabindex="0" role="group" aria-label="Wide picture"></div>',
    css=".wide { overflow-x: auto; } .wide svg { display: block; height: auto; "
    "min-width: 1120px; width: 100%; }",
    js="""export default function ({ data, parentElement }) {
        parentElement.querySelector(".wide").innerHTML = data.svg;
    }""",
    isolate_styles=False,
)


def wide_drawing(svg: str, *, key: str) -> None:
    """Show an SVG of our own making; every text in it is escaped by who drew it."""
    _drawing(key=key, data={"svg": svg})
