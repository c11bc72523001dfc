"""The amounts that cups, spoons and butter sticks can measure, and how a card writes them.

Largest unit first, at most two parts, 1/8 only of a teaspoon, thirds only of a cup, 2 tablespoons for 1/8 cup.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from itertools import chain

from batchwright.base.tables import rows
from batchwright.formula.records import Written

TSP_PER = {"teaspoon": 1, "tablespoon": 3, "cup": 48}  # US customary: 3 tsp = 1 tbsp, 16 tbsp = 1 cup (NIST HB 44, C)
TBSP_PER_STICK = 8  # as marked on the wrapper of a US quarter pound
MOST_CUPS = 16  # 4 quarts, where the rounding guide ends
SMALLEST_SPOON = Fraction(1, 8)  # teaspoon; the smallest of common sets (common practice)
PINCH = Fraction(1, 16)  # teaspoon: half the smallest spoon (common practice)

# What a clumsier writing costs, in squares of a line's tolerance (our own choice): a second part must bring the line a
# third of a tolerance nearer before it is worth another spoon to wash.
HALF_SPOON = 0.05
PLUS_TABLESPOONS = 0.10
PLUS_TEASPOONS = 0.15

QUARTERS = tuple(Fraction(n, 4) for n in range(4))
THIRDS = (Fraction(1, 3), Fraction(2, 3))
HALF = Fraction(1, 2)


@dataclass(frozen=True, slots=True)
class Amount:
    """One writing of one or two parts: `text` is what a card prints, `cost` how clumsy it is.

    `size` counts teaspoons, for sticks the tablespoons marked on the wrapper.
    """

    size: Fraction
    amounts: tuple[Written, ...]
    cost: float
    text: str


@dataclass(frozen=True, slots=True)
class KitchenWay:
    """One way to write a line.

    What it weighs [g], its cost in squares of the tolerance, the words, how far one cook's measure is from another's
    [fraction], and the noun that follows where it is not the line's own.
    """

    mass_g: float
    cost: float
    amounts: tuple[Written, ...]
    text: str
    doubt_fraction: float = 0.0
    noun: str = ""


def amounts_text(amounts: Iterable[Written]) -> str:
    """Return amounts as a card prints them: "1 1/4 cups plus 2 tablespoons", "1 (14-ounce) can"."""
    said: list[str] = []
    listed = list(amounts)
    for place, one in enumerate(listed):
        if one.join == "each" and said:
            continue
        inner = listed[place + 1] if place + 1 < len(listed) and listed[place + 1].join == "each" else None
        said.append(_one_text(one, "" if inner is None else f"({fraction_text(inner.low)}-{inner.unit}) "))
    return " plus ".join(said)


def unit_text(unit: str, count: float) -> str:
    """Return a `unit` after its `count` [no unit]: of more than one in the plural."""
    if count <= 1 or not unit:
        return unit
    if unit.endswith("leaf"):
        return unit[:-1] + "ves"
    return unit + ("es" if unit.endswith(("ch", "sh", "s", "x")) else "s")


def fraction_text(value: float) -> str:
    """Return a `value` [any unit] as cooks write it, "1 1/4"; decimals where no kitchen fraction is near."""
    near = Fraction(value).limit_denominator(8)
    if abs(float(near) - value) > 1e-4:
        return f"{value:g}"
    whole, rest = divmod(near, 1)
    return " ".join(str(part) for part in (whole, rest) if part) or "0"


def _one_text(one: Written, size: str = "") -> str:
    return f"{fraction_text(one.low)} {size}{unit_text(one.unit, one.low)}".strip()


@cache
def volume_amounts() -> tuple[Amount, ...]:
    """Return every amount that cups and spoons measure, up to 4 quarts, smallest first; sizes in teaspoons.

    Each size once, in its simplest writing. Steps by `kitchen_rounding.csv`.
    """
    found: dict[Fraction, Amount] = {}
    for one in sorted(chain(_spoons(), _cups()), key=lambda one: (one.cost, -_first_size(one))):
        found.setdefault(one.size, one)
    return tuple(found[size] for size in sorted(found))


@cache
def stick_amounts() -> tuple[Amount, ...]:
    """Return every amount of butter in half sticks, tablespoons and teaspoons, up to 16 sticks; sizes in tablespoons.

    Half tablespoons are cut up to one stick, whole ones beyond.
    """
    cuts = [Fraction(n, 2) for n in range(1, 8)]
    alone = [_amount(cut, "tablespoon", size=cut, cost=0.0 if cut.denominator == 1 else HALF_SPOON) for cut in cuts[1:]]
    small = [Amount(one.size / 3, one.amounts, one.cost, one.text) for one in _teaspoons()]
    sticks = []
    for halves in range(1, 33):
        count = Fraction(halves, 2)
        size = count * TBSP_PER_STICK
        sticks.append(_amount(count, "stick", size=size))
        for cut in cuts:
            if cut.denominator == 1 or count < 1:
                cost = PLUS_TABLESPOONS + (0.0 if cut.denominator == 1 else HALF_SPOON)
                sticks.append(_amount(count, "stick", cut, "tablespoon", size=size + cut, cost=cost))
    return tuple(sorted((*small, *alone, *sticks), key=lambda one: one.size))


def step_tsp(size_tsp: Fraction) -> Fraction | None:
    """Return the rounding step for an amount [tsp], in teaspoons; None beyond the largest the table has."""
    return next((step for low, below, step in _steps() if low <= size_tsp < below), None)


@cache
def _steps() -> tuple[tuple[Fraction, Fraction, Fraction], ...]:
    return tuple((Fraction(row["from_tsp"]), Fraction(row["below_tsp"]), Fraction(row["step_tsp"]))
                 for row in rows("kitchen_rounding"))  # fmt: skip


def _amount(first: Fraction, unit: str, second: Fraction = Fraction(0), of: str = "", *, size: Fraction,
            cost: float = 0.0) -> Amount:  # fmt: skip
    parts = [Written(float(first), float(first), unit)]
    if second:
        parts.append(Written(float(second), float(second), of, "plus"))
    return Amount(size, tuple(parts), cost, amounts_text(parts))


def _first_size(one: Amount) -> float:
    return one.amounts[0].low * TSP_PER[one.amounts[0].unit]


def _teaspoons() -> list[Amount]:
    """Return the amounts below one tablespoon."""
    found = [_amount(SMALLEST_SPOON, "teaspoon", size=SMALLEST_SPOON)]
    for quarters in range(1, 12):
        count = Fraction(quarters, 4)
        found.append(_amount(count, "teaspoon", size=count))
        found.append(_amount(count, "teaspoon", SMALLEST_SPOON, "teaspoon", size=count + SMALLEST_SPOON,
                             cost=PLUS_TEASPOONS))  # fmt: skip
    return found


def _plus_teaspoons(first: Fraction, unit: str) -> list[Amount]:
    """Return an amount of a larger unit followed by teaspoons, as finely as its size is rounded."""
    base = first * TSP_PER[unit]
    found = []
    for quarters in range(1, 12):
        more = Fraction(quarters, 4)
        step = step_tsp(base + more)
        if step is not None and more % step == 0:
            found.append(_amount(first, unit, more, "teaspoon", size=base + more, cost=PLUS_TEASPOONS))
    return found


def _spoons() -> list[Amount]:
    """Return the amounts below a quarter cup."""
    found = _teaspoons()
    for halves in range(2, 8):
        count = Fraction(halves, 2)
        found.append(_amount(count, "tablespoon", size=3 * count, cost=0.0 if halves % 2 == 0 else HALF_SPOON))
    for whole in range(1, 4):
        found += _plus_teaspoons(Fraction(whole), "tablespoon")
    return found


def _cups() -> list[Amount]:
    """Return the amounts from a quarter cup to 4 quarts."""
    found = []
    for whole in range(MOST_CUPS + 1):
        for part in sorted((*QUARTERS, *THIRDS)):
            count = whole + part
            base = count * TSP_PER["cup"]
            step = step_tsp(base)
            if not count or count > MOST_CUPS or (step == 24 and part not in (0, HALF)):
                continue
            found.append(_amount(count, "cup", size=base))
            found += _plus_teaspoons(count, "cup")
            above = TSP_PER["cup"] * (whole + (HALF if part == THIRDS[0] else Fraction(3, 4)))
            for halves in range(2, 8):
                spoons = Fraction(halves, 2)
                total = base + 3 * spoons
                finest = step_tsp(total)
                past = part in THIRDS and total >= above  # the next quarter begins a simpler writing
                half = spoons.denominator == 2
                if finest is None or past or (finest > 1 if half else 3 % finest != 0):
                    continue
                cost = PLUS_TABLESPOONS + (HALF_SPOON if half else 0.0)
                found.append(_amount(count, "cup", spoons, "tablespoon", size=total, cost=cost))
    return found
