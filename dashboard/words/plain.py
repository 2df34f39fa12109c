"""People's own words where Streamlit reads Markdown: labels of buttons, notes."""

import re

_SIGNS = re.compile(r"[\\`*_~\[\]<>#|$:&+\-]|(?<=\d)[.)](?= )")


def plain(text: str) -> str:
    """Write a text so that Markdown shows each of its signs as it is.

    Parameters
    ----------
    text : str
        Such as a name that a person gave.

    Returns
    -------
    str
        The same with a backslash before each sign that would mark something up; also after a
        number, where it would begin a list.
    """
    return _SIGNS.sub(r"\\\g<0>", text)
