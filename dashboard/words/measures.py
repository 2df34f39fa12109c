"""Days, depths and depths of water, as they stand in a sentence or on a label."""

from datetime import date, datetime, timedelta

from analytics.settings import Settings
from analytics.units import CM_PER_FOOT, DEPTH, EIGHT_IN_TEN, WATER, System, convert, text

SPLIT_CM = Settings().zone_split_cm


def counted(number: int, thing: str) -> str:
    """Write how many of a thing there are: "1 field", "3 fields"."""
    return f"{number} {thing}" if number == 1 else f"{number} {thing}s"


def percent(share: float | None) -> str:
    """Write a share as "38 %", or an em dash where it is not known."""
    return "—" if share is None or share != share else f"{share * 100:.0f} %"  # noqa: PLR0124 - NaN


def as_day(value: object) -> date | None:
    """Read a day out of whatever carries one, or None."""
    if value is None or value != value:  # noqa: PLR0124 - only NaN and NaT differ from themselves
        return None
    if isinstance(value, datetime):
        return value.date()
    if isinstance(value, date):
        return value
    try:
        return datetime.fromisoformat(str(value)).date()
    except ValueError:
        return None


def day_text(value: object, *, year: bool = True) -> str:
    """Write a day as "11 Jun 2023", or an em dash where it is not known."""
    day = as_day(value)
    if day is None:
        return "—"
    return f"{day.day} {day:%b %Y}" if year else f"{day.day} {day:%b}"


def month_text(value: object) -> str:
    """Write a day's month as "Jul 2023"."""
    day = as_day(value)
    return "—" if day is None else f"{day:%b %Y}"


def depth_text(depth_cm: float, system: System) -> str:
    """Write a depth of the soil: feet to the half ("7½ ft"), or whole centimetres."""
    if system == "mm":
        return text(depth_cm, DEPTH, system)
    return f"{feet(depth_cm)} ft"


def year_span(month: int) -> str:
    """Write the year that begins with a month: "from 1 October to 30 September"."""
    first = date(2001, month, 1)  # no leap year
    last = first - timedelta(days=1)
    return f"from 1 {first:%B} to {last.day} {last:%B}"


def feet(depth_cm: float) -> str:
    """Write a depth in feet, to the nearest half."""
    halves = round(depth_cm / CM_PER_FOOT * 2)
    whole, half = divmod(halves, 2)
    if not half:
        return str(whole)
    return f"{whole}½" if whole else "½"


def spelled_depth(depth_cm: float, system: System) -> str:
    """Write a depth in a sentence: "3 feet", "90 cm"."""
    if system == "mm":
        return text(depth_cm, DEPTH, system)
    number = feet(depth_cm)
    return f"{number} foot" if number in {"1", "½"} else f"{number} feet"


def zone_words(zone: str, system: System, split_cm: float = SPLIT_CM) -> str:
    """Say a zone in a sentence: "below 3 feet", "in the upper 90 cm"."""
    depth = spelled_depth(split_cm, system)
    named = {"deep": f"below {depth}", "upper": f"in the upper {depth}"}
    return named.get(zone, "in the whole profile")


def zone_label(zone: str, system: System, split_cm: float = SPLIT_CM) -> str:
    """Label a zone on a control or an axis: "below 3 ft", "upper 3 ft", "whole profile"."""
    depth = depth_text(split_cm, system)
    return {"deep": f"below {depth}", "upper": f"upper {depth}"}.get(zone, "whole profile")


def layer_label(top_cm: float, bottom_cm: float, system: System) -> str:
    """Label a layer by its edges in whole inches or centimetres: "30–42"."""
    top, bottom = (round(convert(one, DEPTH, system)) for one in (top_cm, bottom_cm))
    return f"{top}–{bottom}"


def spelled_water(water_mm: float, system: System) -> str:
    """Write a depth of water in a heading: "5 inches", "4.5 inches", "125 mm"."""
    if system == "mm":
        return text(water_mm, WATER, system)
    number = f"{convert(water_mm, WATER, system):.1f}".removesuffix(".0")
    return f"{number} inch" if number == "1" else f"{number} inches"


def is_short(water_mm: float | None, system: System) -> bool:
    """Tell whether a shortage would show as more than nought."""
    if water_mm is None or water_mm != water_mm:  # noqa: PLR0124 - NaN
        return False
    return round(convert(water_mm, WATER, system), WATER.shown(system).digits) > 0


def short_words(deficit_mm: float | None, system: System) -> str:
    """Write a shortage: "5.5 in short", "nothing short", or "not known"."""
    if deficit_mm is None or deficit_mm != deficit_mm:  # noqa: PLR0124 - NaN
        return "not known"
    if not is_short(deficit_mm, system):
        return "nothing short"
    return f"{text(deficit_mm, WATER, system)} short"


def last_read_note(mm: float, read_on: object, system: System) -> str:
    """Say how much of a shortage is a silent sensor's last value: "0.7 in of it as read …"."""
    return f"{text(mm, WATER, system)} of it as last read on {day_text(read_on)}"


def within_words(sd_mm: float | None, system: System) -> str:
    """Write the half width of the 8-in-10 interval: "±0.5 in, 8 in 10"."""
    if sd_mm is None or sd_mm != sd_mm:  # noqa: PLR0124 - NaN
        return "spread not known"
    return f"±{text(EIGHT_IN_TEN * sd_mm, WATER, system)}, 8 in 10"


def silent_days(last_read: object, as_of: object) -> str:
    """Say how long a probe has been silent on a day, by the calendar: "41 days".

    Every place that tells of a silence counts like this, from the day of the last reading to
    the day that is looked at.
    """
    then, now = as_day(last_read), as_day(as_of)
    return "—" if then is None or now is None else counted((now - then).days, "day")


def age_words(day: object, as_of: object, *, past: bool = False) -> str:
    """Say how old a reading is on a day: "12 days old", "1 day old", "of today".

    Parameters
    ----------
    day, as_of : date, timestamp or ISO text
        When it was read, and the day that is looked at.
    past : bool
        Whether that day is gone by: then "of that day".
    """
    then, now = as_day(day), as_day(as_of)
    if then is None or now is None:
        return "age not known"
    days = (now - then).days
    if days <= 0:
        return "of that day" if past else "of today"
    return f"{days} day old" if days == 1 else f"{days} days old"


def stale_note(read_on: object, as_of: object) -> str:
    """Say how old a figure is: "as of 12 Feb, 12 days old"."""
    return f"as of {day_text(read_on, year=False)}, {age_words(read_on, as_of)}"
