"""The visiting list on paper: one HTML file, large type, light, nothing fetched."""

from collections.abc import Sequence
from html import escape

from dashboard.charts.palette import LIGHT

_STYLE = f"""
body {{ color: {LIGHT.ink}; background: {LIGHT.ground}; margin: 24px;
  font: 16px/1.4 "Source Sans 3", "Source Sans Pro", Arial, sans-serif; }}
h1 {{ font-size: 26px; margin: 0 0 4px; }}
p {{ color: {LIGHT.muted}; margin: 0 0 16px; }}
table {{ border-collapse: collapse; width: 100%; }}
thead {{ display: table-header-group; }}
th {{ background: {LIGHT.tint}; text-align: left; }}
th, td {{ border: 1px solid {LIGHT.edge}; padding: 6px 8px; vertical-align: top; }}
td:first-child {{ font-weight: 700; }}
tr {{ break-inside: avoid; }}
.box {{ width: 60px; }}
@page {{ size: landscape; margin: 12mm; }}
@media print {{ body {{ background: none; margin: 0; font-size: 12pt; }} }}
"""
SAFETY = (
    "Mark buried cables before digging and call the local utility-marking service first. "
    "Lightning, electricity and moving pivots: keep to the site's safety rules."
)


def sheet(title: str, day: str, head: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """Write the list as a page of its own, with a box to tick for each visit."""
    heads = "".join(f"<th>{escape(one)}</th>" for one in (*head, "Done"))
    body = "".join(
        "<tr>"
        + "".join(f"<td>{escape(one)}</td>" for one in row)
        + '<td class="box"></td></tr>'
        for row in rows
    )
    return (
        '<!doctype html><html lang="en"><head><meta charset="utf-8">'
        f"<title>{escape(title)}</title><style>{_STYLE}</style></head><body>"
        f"<h1>{escape(title)}</h1><p>As of {escape(day)}. {SAFETY}</p>"
        f"<table><thead><tr>{heads}</tr></thead><tbody>{body}</tbody></table></body></html>"
    )
