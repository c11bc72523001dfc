"""How a panel prints an amount, and what amounts a printed figure may stand for."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from functools import cache, lru_cache

from batchwright.base.errors import Fault, InputError
from batchwright.base.tables import rows

SCHEMES = ("US", "EU")
MODES = ("guide", "permissive")
ZERO = Decimal(0)
FIGURE = re.compile(r"[0-9]{1,15}(\.[0-9]{0,18})?")


@dataclass(frozen=True, slots=True)
class Interval:
    """The true amounts that print as a given figure, in the figure's own unit.

    `low_closed` and `high_closed` say whether the ends themselves belong to it. `lawful` is False where the figure
    stands on no grid of the scheme (US regulation, EU guidance); `note` then says how it was read.
    """

    low: float
    low_closed: bool
    high: float
    high_closed: bool
    lawful: bool = True
    note: str = ""

    def holds(self, amount: float) -> bool:
        """Say whether amount [in the figure's unit] lies in the interval, ends as marked."""
        above = amount > self.low or (self.low_closed and amount == self.low)
        return above and (amount < self.high or (self.high_closed and amount == self.high))


@dataclass(frozen=True, slots=True)
class Band:
    """One row of the rounding table: amounts lower..upper print as `prints`, or to the nearest `step`."""

    lower: Decimal
    lower_closed: bool
    upper: Decimal | None
    upper_closed: bool
    prints: str
    step: Decimal | None
    guide: bool

    def holds(self, amount: Decimal) -> bool:
        """Say whether the amount lies in this band."""
        if amount < self.lower or (amount == self.lower and not self.lower_closed):
            return False
        return self.upper is None or amount < self.upper or (self.upper_closed and amount == self.upper)


@cache
def nutrient_rows() -> dict[str, dict[str, str]]:
    """Return the table of panel nutrients by key: name, unit, rounding rule of each scheme, daily values."""
    return {row["nutrient"]: row for row in rows("panel_nutrients")}


@cache
def bands(scheme: str, nutrient: str) -> tuple[Band, ...]:
    """Return the rounding bands of a nutrient under a scheme; empty where the scheme has no rule for it."""
    row = nutrient_rows().get(nutrient)
    rule = row[f"{scheme.lower()}_rule"] if row else ""
    return tuple(
        Band(Decimal(r["lower"]), r["lower_closed"] == "1", Decimal(r["upper"]) if r["upper"] else None,
             r["upper_closed"] == "1", r["prints"], Decimal(r["step"]) if r["step"] else None, r["reading"] == "guide")
        for r in rows("panel_rounding") if rule and r["scheme"] == scheme and r["rule"] == rule
    )  # fmt: skip


def rounded_half_up(amount: Decimal, step: Decimal) -> Decimal:
    """Return `amount` to the nearest multiple of `step`, a tie going up."""
    return (amount / step).to_integral_value(ROUND_HALF_UP) * step


def print_amount(scheme: str, nutrient: str, amount: float) -> str:
    """Return the figure a panel prints for a true amount.

    scheme: "US" (amount per serving) or "EU" (per 100 g); nutrient: a panel key; amount: [>= 0, in the key's unit].
    The guide's form is used where the rule leaves a choice ("<1" for 0.7 g of fiber). Raises InputError for an
    unknown scheme, a nutrient without a rule, or a negative amount. Source: 21 CFR 101.9(c) with Appendix H of the
    labeling guide; the European guidance on tolerances (2012). Example: 140 mg sodium prints "140", 145 mg "150".
    """
    table = _bands_or_error(scheme, nutrient)
    exact = Decimal(repr(float(amount)))
    if not exact.is_finite() or exact < 0:
        raise InputError([Fault("amount", amount, "a number, 0 or more")])
    for band in table:
        if band.guide and band.holds(exact):
            if band.step is None:
                return band.prints
            return _plain(rounded_half_up(exact, band.step))
    raise InputError([Fault("amount", amount, "an amount the rounding table covers")])  # pragma: no cover


@lru_cache(maxsize=4096)
def printed_interval(scheme: str, nutrient: str, printed: str, mode: str = "permissive") -> Interval:
    """Return the interval of true amounts that print as `printed`.

    scheme: "US" (per serving) or "EU" (per 100 g); nutrient: a panel key (or "serving_g"); printed: the figure's text
    ("4.5", "<1", "less than 1", "1,5"); mode: "guide" takes the guide's form where the rule says "may", "permissive"
    every lawful form. A figure on no grid of the scheme comes back with `lawful` False and half of its last digit
    either side. Raises InputError for a scheme, nutrient or figure that cannot be read. Source: 21 CFR 101.9(c);
    European guidance on tolerances (2012). Example: US fat "5" stands for 4.75 up to but not including 5.5 g.
    """
    table = _bands_or_error(scheme, nutrient)
    if mode not in MODES:
        raise InputError([Fault("mode", mode, " or ".join(MODES))])
    less, number = _figure(printed)
    found = list(_preimages(table, less, number, mode == "permissive"))
    if found:
        low, low_closed = min(((lo, not lc) for lo, lc, _, _ in found))
        high, high_closed = max(((hi, hc) for _, _, hi, hc in found))
        return Interval(float(low), not low_closed, float(high), high_closed)
    if less:
        return Interval(0.0, True, float(number), True, False, f"less than {_plain(number)}: taken as written")
    return last_digit_interval(number)


def last_digit_interval(number: Decimal, note: str = "") -> Interval:
    """Return half of the last printed digit either side of `number`, never below 0; marked as off the grid."""
    exponent = number.as_tuple().exponent
    half = Decimal(1).scaleb(exponent if isinstance(exponent, int) and exponent < 0 else 0) / 2
    low = max(ZERO, number - half)
    return Interval(
        float(low),
        True,
        float(number + half),
        False,
        False,
        note or f"{_plain(number)} is on no rounding step of the scheme: read to half of its last digit",
    )


def step_interval(scheme: str, nutrient: str, number: Decimal) -> Interval | None:
    """Return the interval of a figure on a finer step of its scheme, carried on past its end (55 kcal)."""
    steps = [band.step for band in bands(scheme, nutrient) if band.step is not None and band.guide]
    for step in sorted(steps, reverse=True):
        if number % step == 0:
            return Interval(
                float(max(ZERO, number - step / 2)),
                True,
                float(number + step / 2),
                False,
                False,
                f"read as rounded to {_plain(step)}",
            )
    return None


def _preimages(
    table: tuple[Band, ...], less: bool, number: Decimal, permissive: bool
) -> Iterator[tuple[Decimal, bool, Decimal, bool]]:
    for band in table:
        if not (band.guide or permissive):
            continue
        if band.step is None:
            word = band.prints
            same = Decimal(word.lstrip("<")) == number and word.startswith("<") == less
            if same and band.upper is not None:
                yield band.lower, band.lower_closed, band.upper, band.upper_closed
        elif not less and number % band.step == 0:
            low, low_closed = number - band.step / 2, True
            high, high_closed = number + band.step / 2, False
            if band.lower >= low:
                low, low_closed = band.lower, band.lower_closed
            if band.upper is not None and band.upper < high:
                high, high_closed = band.upper, band.upper_closed
            if low < high or (low == high and low_closed and high_closed):
                yield low, low_closed, high, high_closed


def _figure(printed: str) -> tuple[bool, Decimal]:
    text = str(printed).strip().lower().replace("less than", "<").replace(" ", "").replace(",", ".")
    less = text.startswith("<")
    body = text[1:] if less else text
    if not FIGURE.fullmatch(body):
        raise InputError([Fault("printed", printed, 'a figure as printed, such as "4.5" or "<1"')])
    return less, Decimal(body)


def _bands_or_error(scheme: str, nutrient: str) -> tuple[Band, ...]:
    if scheme not in SCHEMES:
        raise InputError([Fault("scheme", scheme, " or ".join(SCHEMES))])
    table = bands(scheme, nutrient)
    if not table:
        known = [key for key in nutrient_rows() if bands(scheme, key)]
        raise InputError([Fault("nutrient", nutrient, "one of " + ", ".join(known))])
    return table


def _plain(number: Decimal) -> str:
    text = format(number.normalize(), "f")
    return "0" if text in ("-0", "") else text
