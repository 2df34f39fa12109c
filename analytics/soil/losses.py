"""Where the water that left went: up, down to the layers below, or out through the bottom."""

import numpy as np
from numpy.typing import NDArray

from analytics.model import Bools, Floats


def moved_down(steps: Floats) -> Floats:
    """Match each layer's falls with rises beneath it in the same stretch of time.

    Water that left a layer while a layer below it gained is taken to have gone there, the
    nearest falling layer above first, and every rise is used once. It is what the record can
    show: in a stretch with rain the rise below may have been rain's.

    Parameters
    ----------
    steps : (m, k) float
        Change of each layer over each stretch, mm, shallowest first; NaN is nothing seen.

    Returns
    -------
    (k,) float
        mm, never more than the layer's falls.
    """
    change = np.nan_to_num(steps)
    falls, rises = np.maximum(-change, 0.0), np.maximum(change, 0.0)
    down = np.zeros(change.shape[1])
    below = np.zeros(len(change))
    for layer in reversed(range(change.shape[1])):
        taken = np.minimum(falls[:, layer], below)
        down[layer] = taken.sum()
        below += rises[:, layer] - taken
    return down


def through_bottom(
    along: Floats, full_mm: float, deep: Bools, quiet: Bools
) -> tuple[float, float]:
    """Estimate from below what drained past the probe.

    Only while the bottom layer stands above its full point, and outside wetting windows. Of
    the bottom layer it is its own decline towards that point. Of the profile it is also what
    passed through it: the decline of the layers below the reach of drying, while the bottom
    layer stayed above its point, since such a decline had nowhere else to go.

    Parameters
    ----------
    along : (m + 1, k + 1) float
        Water at each cut of time, mm, the profile last.
    full_mm : float
        Full point of the bottom layer.
    deep : (k,) bool
        Layers below the reach of drying.
    quiet : (m,) bool
        Stretches outside wetting windows.

    Returns
    -------
    bottom, profile : float
        mm; never more than the layer's, or the profile's, own falls.
    """
    bottom = np.maximum(along[:, -2], full_mm)
    own = np.where(quiet, np.maximum(-np.diff(bottom), 0.0), 0.0)
    above = along[:, -2] > full_mm
    below = np.diff(np.nan_to_num(along[:, :-1]) @ deep.astype(float))
    passed = np.where(quiet & above[1:] & above[:-1], np.maximum(-below, 0.0), 0.0)
    whole = np.minimum(np.maximum(own, passed), np.maximum(-np.diff(along[:, -1]), 0.0))
    return float(own.sum()), float(whole.sum())


def upward(loss: Floats, down: Floats, drained: Floats) -> Floats:
    """Give what is left of each row's loss: upward, or not told apart.

    Parameters
    ----------
    loss, down, drained : (k + 1,) float
        mm, the profile last; ``drained`` is NaN where a row does not drain or none can tell.

    Returns
    -------
    (k + 1,) float
        mm; NaN for bottom layer and profile where what drained is not known.
    """
    up = loss - down - np.nan_to_num(drained)
    unknown: NDArray[np.bool_] = np.isnan(drained)
    unknown[:-2] = False  # only the bottom layer, and with it the profile, drain
    return np.where(unknown, np.nan, np.maximum(up, 0.0))
