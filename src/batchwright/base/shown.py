"""Numbers as a cook reads them: the digits that a range deserves and no more; the end of an axis.

Terminal, page and print all take their digits from here, so that one answer looks the same everywhere.
"""

from __future__ import annotations

import math

DASH = "–"


def kept_g(mass_g: float) -> float:
    """Return a mass as it is kept and handed on: to a hundredth of a gram, below 1 g to three significant figures."""
    return round(mass_g, 2) if abs(mass_g) >= 1.0 else float(f"{mass_g:.3g}")


def small_g(mass_g: float) -> str:
    """Return a mass [g] for the text of a line: tenths from 1 g on, below it two significant figures."""
    return f"{mass_g:.1f}" if mass_g >= 1.0 or mass_g == 0.0 else f"{mass_g:.2g}"


def places_deserved(width: float) -> int:
    """Return how many decimal places a range of this `width` [unit of the value] deserves, at most two."""
    if not math.isfinite(width) or width >= 3:
        return 0
    return 1 if width >= 0.25 else 2


def shown_number(value: float, width: float) -> str:
    """Return a `value` with the digits that a range of `width` [unit of the value] deserves; no minus before zero.

    Nothing is shown as 0 that is not: "<0.01" stands for what two places cannot show.
    """
    text = _digits(value, width)
    return "<0.01" if text == "0.00" and value > 0 else text


def _digits(value: float, width: float) -> str:
    if value == 0:
        return "0"
    text = f"{value:.{places_deserved(width)}f}"
    return text[1:] if text.startswith("-") and not text.strip("-0.") else text


def shown_range(low: float, high: float, dash: str = DASH) -> str:
    """Return `low` to `high` [one unit] as text with the digits the range deserves: "34–41"; one figure if alike."""
    ends = _digits(low, high - low), _digits(high, high - low)
    return shown_number(high, high - low) if ends[0] == ends[1] or high < 0.005 else dash.join(ends)


def shown_sure_range(low: float, high: float, dash: str = DASH) -> str:
    """Return a sure range, `low` to `high` [one unit], rounded outwards: it is never printed narrower than it is."""
    unit = 10.0 ** places_deserved(high - low)
    slack = 1e-9  # 3.0000000001 is 3, not 4
    ends = (math.floor(low * unit + slack) / unit, math.ceil(high * unit - slack) / unit)
    return dash.join(_digits(end, high - low) for end in ends)


def nice_axis_max(largest: float) -> float:
    """Return the end of an axis that holds `largest` [any unit]: 1, 2, 2.5, 4, 5, 6 or 8 times a power of ten."""
    if not math.isfinite(largest) or largest <= 0:
        return 1.0
    power = 10.0 ** math.floor(math.log10(largest))
    return next(step * power for step in (1, 2, 2.5, 4, 5, 6, 8, 10) if step * power >= largest * (1 - 1e-9))
