"""The glossary in the program: each term once, in one line, in the trade's words."""

import re

from dashboard.words import BASIS_NAMES
from dashboard.words.glossary import entries

# Words of programmers and of our own rooms, which no grower says.
JARGON = re.compile(
    r"theta|vwc|boolean|null|NaN|placement|deficit|basis|dataframe|parameter|quadrature",
    re.IGNORECASE,
)


def test_each_term_stands_once_in_one_line_with_its_unit():
    told = entries()
    terms = [one[0] for one in told]
    assert len(set(terms)) == len(terms)
    assert terms == sorted(terms, key=str.casefold)
    for term, meaning, unit in told:
        assert unit, term
        assert len(meaning) <= 80, term
        assert not JARGON.search(f"{term} {meaning}"), term


def test_what_a_figure_may_rest_on_is_explained():
    terms = {one[0].casefold() for one in entries()}
    assert {name for name in BASIS_NAMES.values() if name != "set by hand"} <= terms


def test_units_come_from_the_program_s_own_quantities():
    units = {term: unit for term, _, unit in entries()}
    assert units["Short"] == "in or mm"
    assert units["Capacity"] == "gpm or L/s"
    assert units["Full point"] == "m³/m³"


def test_net_water_is_what_reaches_the_soil_not_what_stays_of_it():
    meanings = {term: meaning for term, meaning, _ in entries()}
    assert meanings["Net, gross"].startswith("what reaches the soil;")
