"""One printed figure as typed or pasted: its number, its unit, its % daily value; and the names of panel lines."""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from typing import Any

from batchwright.base.errors import Fault
from batchwright.base.tables import rows

ALLOWED_VALUE = 'a figure as printed, such as 12, "4.5 g", "<1", "less than 1 g", "1,5" or "8%"'
LONGEST_VALUE = 80
LARGEST = Decimal(1_000_000)

UNIT_WORDS = {
    "g": "g", "gr": "g", "gm": "g", "gram": "g", "grams": "g",
    "mg": "mg", "mcg": "µg", "ug": "µg", "µg": "µg", "μg": "µg",
    "kcal": "kcal", "cal": "kcal", "cals": "kcal", "calories": "kcal", "kj": "kJ",
}  # fmt: skip
UNIT_PATTERN = "|".join(sorted((re.escape(word) for word in UNIT_WORDS), key=len, reverse=True))
IN_GRAMS = {"g": Decimal(1), "mg": Decimal("0.001"), "µg": Decimal("0.000001")}

VALUE = re.compile(
    rf"(?:(?P<less><|≤|less than|lessthan|under|up to)\s?)?(?:about|approx\.?|approximately|circa|ca\.?|~)?\s?"
    rf"(?P<number>[0-9][0-9., ]{{0,18}}|[.,][0-9]{{1,9}})\s?(?P<unit>{UNIT_PATTERN})?(?P<rest>[^a-z].*)?"
)
PERCENT = re.compile(r"[(\[]?(?P<less><|less than)?\s?(?P<number>[0-9]{1,4}(?:[.,][0-9]{1,3})?)\s?%[^0-9]*")
BEHIND = re.compile(r"\s*(?:/|[(\[]?\s*(?P<word>[a-zµμ]+))")
BESIDE = frozenset(
    {"about", "approx", "approximately", "average", "ca", "circa", "dv", "each", "in", "max", "min", "of", "or", "per"}
)
"""Words behind a figure that are no unit."""
TRACE = re.compile(r"\(?(?:in )?trace?s?\)?(?: amounts?)?|negligible|tr\.?")
NONE = re.compile(r"nil|none|zero|no")
INSIGNIFICANT = re.compile(r"(?:not a )?(?:significant source|insignificant).{0,40}|not a significant.{0,40}")


@dataclass(frozen=True, slots=True)
class Printed:
    """A figure as printed: `number` in `unit` (empty: the key's own), with what else stood beside it.

    `kind` is "number", "less" (less than the number), "trace", "insignificant" (not a significant source) or
    "percent" (only a % daily value stands there). `text` is the figure as it is shown again;
    `half` is half of its last digit where it was printed in another unit than the key's (else 0).
    """

    kind: str
    number: Decimal
    text: str
    unit: str = ""
    percent_dv: Decimal | None = None
    half: Decimal = Decimal(0)

    def in_unit(self, unit: str) -> Printed:
        """Return the figure in another unit of mass, every printed digit kept."""
        if not self.unit or self.unit == unit or self.unit not in IN_GRAMS or unit not in IN_GRAMS:
            return self
        factor = IN_GRAMS[self.unit] / IN_GRAMS[unit]
        number = self.number * factor
        half = Decimal(1).scaleb(int(self.number.as_tuple().exponent)) / 2 * factor
        text = format(number, "f")
        return Printed(
            self.kind, Decimal(text), f"<{text}" if self.kind == "less" else text, unit, self.percent_dv, half
        )


def read_value(field: str, value: Any, unit: str = "g") -> Printed | Fault:
    """Return the figure in `value` (a number or text), or the fault that says why it cannot be read."""
    if isinstance(value, bool) or value is None or isinstance(value, (list, tuple, dict, set)):
        return Fault(field, value, ALLOWED_VALUE, "Give one figure.")
    if isinstance(value, (int, float)):
        return _from_number(field, value)
    text = " ".join(str(value)[: LONGEST_VALUE + 1].lower().split())
    if not text or len(text) > LONGEST_VALUE:
        return Fault(field, value, ALLOWED_VALUE, "Leave the key out where the panel prints nothing.")
    if re.match(r"[-−–]\s?[0-9.]", text):
        return Fault(field, value, "0 or more", "A panel cannot print less than nothing.")
    if TRACE.fullmatch(text):
        return Printed("trace", Decimal(0), "trace")
    if INSIGNIFICANT.fullmatch(text):
        return Printed("insignificant", Decimal(0), "not a significant source")
    if NONE.fullmatch(text):
        return Printed("number", Decimal(0), "0")
    percent = PERCENT.fullmatch(text)
    if percent:
        return Printed("percent", Decimal(0), f"{percent['number']}%", "", Decimal(percent["number"].replace(",", ".")))
    found = VALUE.fullmatch(text)
    if not found:
        return Fault(field, value, ALLOWED_VALUE, "Type the figure as the packet prints it.")
    strange = "" if found["unit"] else _no_unit(field, found["rest"] or "")
    if strange:
        return Fault(field, value, ALLOWED_VALUE, f"{strange!r} is no unit known here: give g, mg, µg, kcal or kJ.")
    number = decimal_of(found["number"], unit in ("kcal", "kJ", "mg") or found["unit"] in ("kcal", "kj", "mg"))
    if number is None or number > LARGEST:
        return Fault(field, value, f"a number up to {LARGEST}", "Check for a slipped decimal point.")
    rest = PERCENT.search(found["rest"] or "")
    less = bool(found["less"])
    shown = format(number, "f")
    return Printed(
        "less" if less else "number",
        number,
        f"<{shown}" if less else shown,
        UNIT_WORDS.get(found["unit"] or "", ""),
        Decimal(rest["number"].replace(",", ".")) if rest else None,
    )


def _no_unit(field: str, rest: str) -> str:
    """Return what stands behind a number as its unit and is none ("stone", "/ 3 cup"), "" where nothing does."""
    found = BEHIND.match(rest)
    word = (found["word"] or "/") if found else ""
    own = re.split(r"[_\[]", field.lower())
    return "" if word in UNIT_WORDS or word in BESIDE or word in own else word


def _from_number(field: str, value: float) -> Printed | Fault:
    if value != value or value in (float("inf"), float("-inf")):
        return Fault(field, str(value), ALLOWED_VALUE)
    if value < 0:
        return Fault(field, value, "0 or more", "A panel cannot print less than nothing.")
    if value > LARGEST:
        return Fault(field, value, f"a number up to {LARGEST}", "Check for a slipped decimal point.")
    # A figure stored in single precision carries noise in its seventh digit (25.299999).
    text = str(value) if isinstance(value, int) or len(repr(value)) <= 9 else format(value, ".6g")
    number = Decimal(text)
    return Printed("number", number, format(number, "f"))


def decimal_of(text: str, thousands: bool) -> Decimal | None:
    """Return the number in a run of digits, points, commas and blanks; None where it is none.

    A comma is a decimal sign ("1,5") unless it parts thousands: exactly three digits behind it, in a figure that runs
    to thousands (`thousands`: energy and milligrams) and does not begin with 0.
    """
    text = text.strip(" .,") if not re.match(r"[.,]\d", text) else text.strip()
    if re.fullmatch(r"[1-9]\d{0,2}(?: \d{3})+(?:[.,]\d+)?", text):
        text = text.replace(" ", "")
    if thousands and re.fullmatch(r"[1-9]\d{0,2}(?:[,.]\d{3})+", text):
        text = re.sub(r"[,.]", "", text)
    if re.fullmatch(r"[1-9]\d{0,2}(?:,\d{3})+\.\d+", text):
        text = text.replace(",", "")
    text = text.replace(",", ".")
    if text.startswith("."):
        text = "0" + text
    return Decimal(text) if re.fullmatch(r"\d{1,12}(?:\.\d{1,9})?", text) else None


def squashed(text: str) -> str:
    """Return only the letters and digits of a name, in lower case."""
    return re.sub(r"[^a-z0-9]", "", text.lower())


@cache
def spellings() -> dict[str, str]:
    """Return the panel key of every known spelling, letters only."""
    known = {squashed(row["spelling"]): row["nutrient"] for row in rows("panel_names")}
    known.update({squashed(row["nutrient"]): row["nutrient"] for row in rows("panel_nutrients")})
    return known


def nutrient_of(name: str) -> tuple[str | None, bool, str]:
    """Return (panel key or None, whether the name asks for a % daily value, unit named in it) of a key or heading."""
    words = re.sub(r"[^a-z0-9µμ%]+", " ", re.sub(r"([a-z])(?=kJ\b|kcal\b)", r"\1 ", name).lower()).split()
    percent = False
    while words and words[-1] in ("dv", "percent", "pct", "%", "%dv", "daily", "value", "ri", "gda"):
        percent, words = True, words[:-1]
    if len(words) > 1 and words[0] in ("dv", "percent", "pct", "%"):
        percent, words = True, words[1:]
    known = spellings()
    unit = ""
    if len(words) > 1 and words[-1] in UNIT_WORDS:
        whole = known.get(squashed("".join(words)))
        unit = UNIT_WORDS[words[-1]]
        if whole:
            return whole, percent, unit
        words = words[:-1]
    key = known.get(squashed("".join(words)))
    if key == "energy_kcal" and unit == "kJ":
        key = "energy_kj"
    return key, percent, unit
