import pytest

from analytics.soil.texture import depletion_fraction, root_depth_cm, texture_points


@pytest.mark.parametrize("spelling", ["Silt Loam", " silt  loam ", "SILT-LOAM", "silt_loam"])
def test_spelling_does_not_matter(spelling):
    assert texture_points(spelling) == texture_points("silt loam")


def test_silt_clay_loam_is_the_printed_name_of_silty_clay_loam():
    assert texture_points("silt clay loam") == texture_points("silty clay loam")


def test_classes_without_a_row_lie_between_their_neighbours():
    # loam 0.25 and clay 0.36 in Table 19: the middle is 0.305
    assert texture_points("clay loam").full == pytest.approx(0.305)
    # sandy loam 0.11 and clay 0.22: 0.165
    assert texture_points("sandy clay").lower == pytest.approx(0.165)
    assert texture_points("sandy clay loam").full_sd > texture_points("sandy loam").full_sd


@pytest.mark.parametrize("unknown", [None, "", "moon dust"])
def test_an_unknown_texture_is_the_least_sure_of_all(unknown):
    points = texture_points(unknown)
    assert points.full == pytest.approx((0.20 + 0.42) / 2)  # loam's bottom, silty clay's top
    known = ["sand", "silt loam", "silty clay", "clay loam", "sandy clay loam"]
    assert all(points.full_sd > texture_points(name).full_sd for name in known)


def test_trade_names_of_crops():
    assert depletion_fraction("Corn") == depletion_fraction("maize")
    assert depletion_fraction("wheat") == depletion_fraction("winter wheat")
    assert root_depth_cm("milo") == root_depth_cm("sorghum")


def test_an_unknown_crop_gets_one_half():
    assert depletion_fraction("triticale") == 0.5
    assert depletion_fraction(None) == 0.5
    assert root_depth_cm(None) == 100.0


def test_roots_end_at_a_layer_that_they_cannot_pass():
    # FAO-56, Table 22, note 1: its depths are of soils without one
    free = root_depth_cm("corn")
    assert root_depth_cm("corn", 80.0) == 80.0
    assert root_depth_cm("corn", free + 40.0) == free
    assert root_depth_cm(None, 30.0) == 30.0
