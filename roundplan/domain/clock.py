"""Times of day: whole seconds after local midnight, written ``HH:MM`` or ``HH:MM:SS``."""

from __future__ import annotations

import re

MINUTE = 60
HOUR = 3600
DAY = 86400

_PATTERN = re.compile(r"^([01]?\d|2[0-4]):([0-5]\d)(?::([0-5]\d))?$")


def clock_text(seconds: int) -> str:
    """Write a time of day; seconds only where they are not nought.

    Parameters
    ----------
    seconds : int
        Seconds after local midnight, 0 to 86,400.
    """
    hours, rest = divmod(seconds, HOUR)
    minutes, spare = divmod(rest, MINUTE)
    return f"{hours:02d}:{minutes:02d}" + (f":{spare:02d}" if spare else "")


def parse_clock(text: str) -> int:
    """Read ``HH:MM`` or ``HH:MM:SS`` as seconds after midnight.

    Raises
    ------
    ValueError
        If the text is no time of day between 00:00 and 24:00.
    """
    match = _PATTERN.match(text.strip())
    if match is None:
        raise ValueError(f"{text!r} is not a time of day such as 08:30")
    hours, minutes, seconds = (int(part or 0) for part in match.groups())
    total = hours * HOUR + minutes * MINUTE + seconds
    if total > DAY:
        raise ValueError(f"{text!r} is past midnight")
    return total
