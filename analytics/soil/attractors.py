"""Water contents at which a layer is found most often: the peaks of its histogram."""

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from analytics.model import Floats
from analytics.settings import Settings

MARGIN = 4.0  # kernel widths kept free at both ends, so that a peak at an end is one


def attractors(theta: Floats, settings: Settings) -> tuple[Floats, Floats]:
    """Find the peaks of a layer's smoothed histogram, and the days each gathers.

    Parameters
    ----------
    theta : (n,) float
        Daily states that may be counted, m3/m3; NaN is left out.
    settings : Settings

    Returns
    -------
    value : (m,) float
        m3/m3, rising; none where fewer than ``histogram_days`` days count.
    days : (m,) float
        Days between the valleys on both sides of each peak.

    Notes
    -----
    Chandler, Seyfried, McNamara & Hwang (2017): long records have attractors, high-frequency
    values, at field capacity and at the limit of plant extraction. Kernel and prominence are
    ours.
    """
    # Loaded only here: they take more than a second, and a night needs neither.
    from scipy.ndimage import gaussian_filter1d  # noqa: PLC0415
    from scipy.signal import find_peaks  # noqa: PLC0415

    seen = theta[np.isfinite(theta)]
    if len(seen) < settings.histogram_days:
        return np.empty(0), np.empty(0)
    step, kernel = settings.histogram_step, settings.histogram_smooth
    room = MARGIN * kernel
    edges = np.arange(seen.min() - room, seen.max() + room + step, step)
    count = np.histogram(seen, edges)[0].astype(float)
    smooth = gaussian_filter1d(count, kernel / step, mode="constant")
    peaks, _ = find_peaks(smooth, prominence=settings.histogram_prominence * smooth.max())
    middle = (edges[:-1] + edges[1:]) / 2
    return middle[peaks], _gathered(count, smooth, peaks)


def _gathered(count: Floats, smooth: Floats, peaks: NDArray[np.intp]) -> Floats:
    """Days that belong to each peak: those up to the lowest place between it and the next."""
    if len(peaks) == 0:
        return np.empty(0)
    valleys = [int(one + np.argmin(smooth[one:other])) for one, other in pairwise(peaks)]
    return np.add.reduceat(count, [0, *valleys])
