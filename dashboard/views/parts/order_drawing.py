"""A wide drawing that keeps its type readable: on a narrow screen it is folded, or scrolls."""

from collections.abc import Sequence

from streamlit.components.v2 import component

Fold = Sequence[tuple[float, float]]

_drawing = component(
    "overwinter_wide_drawing",
    html='<div class="wide" tabindex="0" role="group" aria-label="Wide picture"></div>',
    css=""".wide { overflow-x: auto; }
    .wide svg { display: block; height: auto; width: 100%; }
    .wide .whole { min-width: 1120px; }
    .wide .folded { display: none; min-width: 640px; }
    .wide .folded div { display: flex; margin-bottom: 14px; }
    @media (max-width: 1100px) {
        /* neither display nor visibility, which would take the patterns from its copies */
        .wide.folds .whole { position: absolute; opacity: 0; width: 0; min-width: 0;
            height: 0; overflow: hidden; }
        .wide.folds .folded { display: block; }
    }""",
    js="""export default function ({ data, parentElement }) {
        const wide = parentElement.querySelector(".wide");
        wide.classList.toggle("folds", data.folds.length > 0);
        wide.innerHTML = '<div class="whole">' + data.svg + '</div><div class="folded"></div>';
        const whole = wide.querySelector("svg"), height = whole.viewBox.baseVal.height;
        for (const cuts of data.folds) {
            const row = document.createElement("div");
            for (const [from, to] of cuts) {
                const part = whole.cloneNode(true);
                part.setAttribute("viewBox", `${from} 0 ${to - from} ${height}`);
                part.setAttribute("width", to - from);
                part.setAttribute("aria-hidden", "true");
                part.style.flex = `${to - from} 1 0`;
                part.style.minWidth = "0";
                row.append(part);
            }
            wide.querySelector(".folded").append(row);
        }
    }""",
    isolate_styles=False,
)


def wide_drawing(svg: str, *, key: str, folds: Sequence[Fold] = ()) -> None:
    """Show an SVG of our own making; every text in it is escaped by who drew it.

    Parameters
    ----------
    svg : str
    key : str
    folds : sequence of rows of (from, to)
        What a narrow screen shows side by side, row under row: stretches of the drawing's
        width, px. Without them it scrolls sideways there.
    """
    _drawing(key=key, data={"svg": svg, "folds": [list(map(list, row)) for row in folds]})
