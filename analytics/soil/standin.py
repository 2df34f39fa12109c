"""What stands in for a point not yet learned: sand, silt and clay, else the texture's name."""

from functools import lru_cache
from math import isfinite

import numpy as np

from analytics.model import Layer
from analytics.soil.texture import TexturePoints, texture_points

FULL_CM, LOWER_CM = 330.0, 15_000.0  # -33 and -1500 kPa, as surveys read them
NEWEST = 3  # Rosetta version: Zhang & Schaap 2017
ROSETTA_SD = 0.05  # m3/m3, of single soils by texture alone; Zhang & Schaap 2017, from memory
WHOLE, WHOLE_OFF = 100.0, 3.0  # per cent; further off, one of the three is wrong


def stand_in(layer: Layer) -> TexturePoints:
    """Full and lower point that a layer's soil suggests, with how unsure they are.

    Parameters
    ----------
    layer : Layer
        Its sand, silt and clay in per cent serve where all three are there and make a whole,
        its texture class else.

    Returns
    -------
    TexturePoints
        m3/m3. By sand, silt and clay: water held at -33 and -1500 kPa by van Genuchten's
        curve with the parameters of the pedotransfer function Rosetta (Schaap, Leij & van
        Genuchten 2001; weights of Zhang & Schaap 2017), of the library ``rosetta-soil``. By
        class: FAO-56, Table 19, see `texture_points`.
    """
    shares = _shares(layer)
    return texture_points(layer.texture) if shares is None else _rosetta(*shares)


def soil_words(layer: Layer) -> str:
    """Say what stands in: ``silt loam, FAO-56 Table 19``, or the sand, silt and clay."""
    shares = _shares(layer)
    if shares is None:
        return f"{layer.texture or 'no texture known'}, FAO-56 Table 19"
    sand, silt, clay = shares
    return f"{sand:.0f} % sand, {silt:.0f} % silt, {clay:.0f} % clay, Rosetta"


def _shares(layer: Layer) -> tuple[float, float, float] | None:
    sand, silt, clay = layer.sand, layer.silt, layer.clay
    if sand is None or silt is None or clay is None:
        return None
    whole = sand + silt + clay
    if not isfinite(whole) or abs(whole - WHOLE) > WHOLE_OFF:
        return None
    return WHOLE * sand / whole, WHOLE * silt / whole, WHOLE * clay / whole


@lru_cache(maxsize=4096)
def _rosetta(sand: float, silt: float, clay: float) -> TexturePoints:
    # Loaded here: a district without sand, silt and clay shall not wait for the networks.
    from rosetta import rosetta  # noqa: PLC0415

    mean, _, _ = rosetta(NEWEST, np.array([[sand, silt, clay]]))
    residual, saturated, alpha, n = (float(one) for one in mean[0][:4])
    full, lower = (
        residual + (saturated - residual) * (1.0 + (alpha * head) ** n) ** (1.0 / n - 1.0)
        for head in (FULL_CM, LOWER_CM)
    )
    return TexturePoints(full, lower, ROSETTA_SD, ROSETTA_SD)
