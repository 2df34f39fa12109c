"""A page that stays open while its reader's system turns from light to dark, or back.

Streamlit turns its own parts at once but draws none of ours anew: ink would stand on a ground
of its own colour until the next click.
"""

from streamlit.components.v2 import component

_follow = component(
    "overwinter_dusk",
    html="<span hidden></span>",
    js="""export default function ({ setTriggerValue }) {
        const dark = window.matchMedia("(prefers-color-scheme: dark)");
        // Streamlit hears of it too, and must have turned before it tells which theme is shown.
        const tell = () => setTriggerValue("turned", String(dark.matches));
        const turned = () => setTimeout(tell, 250);
        dark.addEventListener("change", turned);
        return () => dark.removeEventListener("change", turned);
    }""",
    isolate_styles=False,
)


def follow() -> None:
    """Draw the page anew when the reader's system turns."""
    _follow(key="dusk", on_turned_change=_drawn_anew)


def _drawn_anew() -> None:
    """Do nothing: that the page runs is enough."""
