"""A drawing with words in it, laid into the page so that they take the page's own type.

A picture loaded as an image cannot use the page's fonts, and stock HTML drops drawings.
"""

from streamlit.components.v2 import component

_drawing = component(
    "overwinter_drawing",
    html='<div class="drawing"></div>',
    css=".drawing svg { display: block; height: auto; max-width: 100%; }",
    js="""export default function ({ data, parentElement }) {
        parentElement.querySelector(".drawing").innerHTML = data.svg;
    }""",
    isolate_styles=False,
)


def drawing(svg: str, *, key: str) -> None:
    """Show an SVG of our own making; every text in it is escaped by who drew it."""
    _drawing(key=key, data={"svg": svg})
