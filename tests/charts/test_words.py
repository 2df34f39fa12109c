"""The sentences people read: number, depth, consequence; no alarm; units never mixed."""

from datetime import date

import pytest

from dashboard import words

CODES = ("wet_on_top_dry_beneath", "deep_not_refilled", "draining_below", "not_yet_seen_full",
         "frozen_held", "settling", "stale", "points_unsure")  # fmt: skip


def test_the_district_is_answered_in_a_sentence():
    # the look page's own sentence; 5 in = 127 mm
    assert words.district_answer(short=10, of=36, over_mm=127.0, system="in") == (
        "10 of 36 fields go into the season more than 5 inches short below 3 feet."
    )
    assert words.district_answer(short=1, of=36, over_mm=125.0, system="mm") == (
        "1 of 36 fields goes into the season more than 125 mm short below 90 cm."
    )
    assert words.district_answer(short=0, of=0, over_mm=1, system="in").endswith("date.")
    assert words.district_answer(short=2, of=9, over_mm=127.0, system="in", chosen=True) == (
        "2 of the 9 fields chosen go into the season more than 5 inches short below 3 feet."
    )


def test_while_crops_stand_no_field_goes_into_a_season():
    many = words.district_answer(short=10, of=36, over_mm=127.0, system="in", standing=True)
    assert many == "10 of 36 fields are more than 5 inches short below 3 feet."
    one = words.district_answer(short=1, of=36, over_mm=125.0, system="mm", standing=True)
    assert one == "1 of 36 fields is more than 125 mm short below 90 cm."


def test_all_is_not_so_many_of_as_many():
    told = {"wet_on_top": 0, "worst": "A", "worst_mm": 50.8, "system": "in", "source": "Wells"}
    assert words.district_second(**told, short=3, source_count=3).endswith(
        "; all 3 hang on Wells."
    )
    assert "; 2 of the 3 hang on Wells." in words.district_second(
        **told, short=3, source_count=2
    )


def test_fields_under_a_standing_crop_are_said_not_to_be_counted():
    told = {"wet_on_top": 0, "worst": None, "worst_mm": None, "system": "in"}
    assert words.district_second(**told) == ""
    assert words.district_second(**told, left_out=1) == (
        "1 field under a standing crop is not counted."
    )
    assert words.district_second(**{**told, "wet_on_top": 2}, left_out=3) == (
        "2 of them look wet on top. 3 fields under a standing crop are not counted."
    )


@pytest.mark.parametrize(("month", "told"), [
    (10, "from 1 October to 30 September"), (1, "from 1 January to 31 December"),
    (4, "from 1 April to 31 March"), (3, "from 1 March to 28 February"),
])  # fmt: skip
def test_a_year_is_named_from_its_first_day_to_its_last(month, told):
    assert words.year_span(month) == told


def test_one_is_never_written_as_many():
    assert [words.counted(n, "off-season") for n in (0, 1, 2)] == [
        "0 off-seasons", "1 off-season", "2 off-seasons"
    ]  # fmt: skip


def test_a_field_is_answered_in_a_sentence():
    # the look page's own sentence; 5.5 in = 139.7 mm
    said = {"name": "Corrie 12", "crop": "corn", "deep_mm": 139.7}
    assert words.field_answer(**said, wet_on_top=True, system="in") == (
        "Corrie 12 goes into corn 5.5 in short below 3 feet, although the top is wet."
    )
    assert words.field_answer(**said, wet_on_top=False, system="mm") == (
        "Corrie 12 goes into corn 140 mm short below 90 cm."
    )
    none = words.field_answer(name="A", crop=None, deep_mm=None, wet_on_top=False, system="in")
    assert none == "What A holds below 3 feet is not known."


def test_under_a_standing_crop_nothing_is_said_of_the_next():
    def said(deep_mm: float) -> str:
        return words.field_answer(name="Corrie 12", crop="sorghum", standing="winter wheat",
                                  deep_mm=deep_mm, wet_on_top=True, system="in")  # fmt: skip

    lead = "Corrie 12, under winter wheat, is"
    assert said(50.8) == f"{lead} 2.0 in short below 3 feet, although the top is wet."
    assert said(0.0) == f"{lead} nothing short below 3 feet."
    since = "Since the winter wheat was planted the soil"
    for change_mm, told in ((20.0, "gained 20 mm"), (-20.0, "lost 20 mm"),
                            (0.2, "neither gained nor lost water")):  # fmt: skip
        assert words.brought_words(change_mm, 1.0, "mm", standing="winter wheat") == (
            f"{since} {told}."
        )


@pytest.mark.parametrize("deep_mm", [0.0, -12.0, 0.4])
def test_a_full_field_is_nothing_short(deep_mm):
    said = words.field_answer(
        name="A", crop="corn", deep_mm=deep_mm, wet_on_top=True, system="in"
    )
    assert said == "A goes into corn with nothing short below 3 feet."


def test_the_second_line_says_what_came_and_how_deep():
    # 3.1 in = 78.7 mm; 0.2 in = 5.1 mm
    said = words.brought_words(78.7, 5.1, "in")
    assert said == "The off-season added 3.1 in, 0.2 in of it below 3 ft."
    assert words.brought_words(-20.0, None, "mm") == "The off-season took 20 mm."
    assert not words.brought_words(None, 5.1, "in")


@pytest.mark.parametrize(
    ("item", "said"),
    [
        ({"code": "wet_on_top_dry_beneath", "short_mm": 139.7},
         "Wet on top, dry beneath: 5.5 in short"),
        ({"code": "deep_not_refilled", "since": "2023-07-04", "crop": "corn",
          "planted_on": "2023-05-01"},
         "Deep layers not refilled since Jul 2023 (corn)"),
        ({"code": "deep_not_refilled", "since": "2020-08-09", "crop": "corn",
          "planted_on": "2021-04-29"},
         "Deep layers not refilled since Aug 2020"),
        ({"code": "deep_not_refilled", "since": None, "crop": None},
         "Deep layers not refilled on this record"),
        ({"code": "frozen_held", "top_cm": 0, "bottom_cm": 35.56},
         "Frozen to 14 in: held values"),
        ({"code": "stale", "depths_cm": [213.36], "days": 41, "whole": False},
         "Sensor at 84 in silent 41 days"),
        ({"code": "stale", "depths_cm": [10, 20], "days": 1, "whole": True},
         "Probe silent 1 day"),
        ({"code": "not_yet_seen_full", "depths_cm": [91.44, 121.92]},
         "Not yet seen full at 36 to 48 in"),
        ({"code": "draining_below", "fell_mm": 5.08, "days": 7},
         "Draining below the probe: bottom layer down 0.2 in in 7 days"),
        ({"code": "settling", "depths_cm": [30.0], "whole": True}, "Settling in its hole"),
        ({"code": "settling", "depths_cm": [30.0, 90.0], "whole": False},
         "Settling in its hole at 12 to 35 in"),
        ({"code": "points_unsure", "share": 0.75},
         "Full points unsure for 75 % of the deep soil"),
    ],
)  # fmt: skip
def test_headlines_are_said_with_their_evidence(item, said):
    assert words.headline_sentence(item, "in") == said


@pytest.mark.parametrize("code", CODES)
@pytest.mark.parametrize("system", ["in", "mm"])
def test_a_headline_without_evidence_is_still_a_phrase(code, system):
    bare = words.headline_sentence({"code": code}, system)
    nulls = {"days": None, "since": None, "until": None, "short_mm": None, "share": None,
             "depths_cm": None, "bottom_cm": float("nan"), "fell_mm": None}  # fmt: skip
    for said in (bare, words.headline_sentence({"code": code, **nulls}, system)):
        assert said[0].isupper()
        assert not any(sign in said for sign in ("None", "nan", "—", "!", "_"))


def test_metric_headlines_carry_no_inches():
    said = words.headline_sentence({"code": "stale", "depths_cm": [120], "days": 3}, "mm")
    assert said == "Sensor at 120 cm silent 3 days"


@pytest.mark.parametrize(
    ("depth_cm", "said"),
    [(0, "0 ft"), (91.44, "3 ft"), (90, "3 ft"), (229, "7½ ft"), (15, "½ ft")],
)
def test_depths_are_feet_to_the_half(depth_cm, said):
    assert words.depth_text(depth_cm, "in") == said


def test_layers_are_whole_inches():
    assert words.layer_label(76.2, 106.68, "in") == "30–42"
    assert words.layer_label(76.2, 106.68, "mm") == "76–107"


def test_basis_counts_layers_by_state():
    assert words.basis_words("learned") == "learned in place"
    assert words.basis_words("learned:4;texture:2") == (
        "learned in place in 4 layers, from a texture table in 2"
    )
    assert words.basis_words(None) == "not known"


def test_the_spread_is_eight_in_ten():
    # Standard normal quantile at 0.9 is 1.2816 (NIST/SEMATECH e-Handbook, table 1.3.6.7.1:
    # Phi(1.28) = 0.8997); 10 mm x 1.2816 = 12.8
    assert words.within_words(10.0, "mm") == "±13 mm, 8 in 10"
    assert words.within_words(float("nan"), "mm") == "spread not known"


def test_old_figures_say_their_age():
    assert words.age_words(date(2026, 2, 13), date(2026, 2, 13)) == "of today"
    assert words.age_words(date(2026, 2, 13), date(2026, 2, 13), past=True) == "of that day"
    assert words.stale_note(date(2025, 2, 12), date(2025, 2, 24)) == "as of 12 Feb, 12 days old"
    assert words.district_rests(read_on=date(2025, 2, 24), as_of=date(2025, 2, 24), silent=1,
                                held=2) == (
        "Probes read to 24 Feb 2025; 1 field has a silent sensor, 2 fields hold values under "
        "frost."
    )  # fmt: skip


def test_no_sentence_alarms():
    for said in (*words.CAUTIONS, words.EMPTY_FIELD, words.EMPTY_STORE):
        assert "!" not in said
        assert "deficit" not in said
