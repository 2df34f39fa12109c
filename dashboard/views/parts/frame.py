"""What every page is framed by: style, header, headings, notices, cautions."""

from html import escape
from pathlib import Path

import streamlit as st

from dashboard import data, state, words
from dashboard.charts.palette import DARK, LIGHT, Palette
from dashboard.views.parts import dusk
from dashboard.views.parts.field_list import tokens
from dashboard.words.glossary import entries

_STYLE = Path(__file__).with_name("page.css").read_text(encoding="utf-8")


def palette() -> Palette:
    """Give the colours of the reader's theme."""
    return DARK if state.theme() == "dark" else LIGHT


def header(store: data.Store | None) -> None:
    """Give the page its type and space; name the program left, district and date right."""
    names = ";".join(f"{name}:{value}" for name, value in tokens(palette()).items())
    said = ""
    if store is not None and store.as_of is not None:
        said = f"{store.name} · {store.as_of:%a} {words.day_text(store.as_of)}"
    st.html(
        f"<style>:root{{{names}}}\n{_STYLE}</style>"
        f'<div class="ow-brand">Overwinter</div><div class="ow-where">{escape(said)}</div>'
    )
    dusk.follow()


def answer(sentence: str, second: str, rests: str) -> None:
    """Show the answer, the evidence under it, and muted what it rests on."""
    st.html(
        f'<h1 class="ow-answer">{escape(sentence)}</h1><p class="ow-second">{escape(second)} '
        f'<span class="ow-muted">{escape(rests)}</span></p>'
    )


def heading(title: str, note: str = "") -> None:
    """Head a panel: what it shows on the left, a fact about it on the right."""
    st.html(
        f'<div class="ow-head"><h2>{escape(title)}</h2>'
        f'<span class="ow-muted">{escape(note)}</span></div>'
    )


def muted(words_: str) -> None:
    """Write a line of second text."""
    st.html(f'<p class="ow-note">{escape(words_)}</p>')


def notice(title: str, *lines: str) -> None:
    """Say what a page cannot show, and what to do; commands stand in `ticks`."""
    st.title(title, anchor=False)
    for line in lines:
        st.markdown(line)


def cautions() -> None:
    """Close a page with what a reader must keep in mind, and what its words mean."""
    with st.expander("Before acting on this"):
        for line in words.CAUTIONS:
            muted(line)
    with st.expander("What the words mean"):
        rows = "".join(
            f'<tr><th scope="row">{escape(term)}</th><td>{escape(meaning)}</td>'
            f"<td>{escape(unit)}</td></tr>"
            for term, meaning, unit in entries()
        )
        st.html(f'<table class="ow-table ow-text"><tbody>{rows}</tbody></table>')
