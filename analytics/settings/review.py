"""Which points a person should look at, and which are sure enough to be accepted at once."""

from dataclasses import dataclass

from analytics.settings.declare import setting


@dataclass(frozen=True, kw_only=True)
class Review:
    """Which points a person should look at."""

    review_effect_mm: float = setting(
        2.0, "mm", "a point that would change a shortage by less needs no person", "ours"
    )
    review_sd: float = setting(
        0.010, "m3/m3", "a learned point surer than this may be accepted unseen", "ours"
    )
    review_agree: float = setting(
        0.015,
        "m3/m3",
        "second opinions so near to the carried point agree with it",
        "ours: about what one year may be off by (provisional_sd)",
    )
