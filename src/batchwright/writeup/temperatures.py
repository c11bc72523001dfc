"""Temperatures in the words of a method: found, told apart (oven, syrup, a change), written in F and in C."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

OVEN_F, OVEN_C = 25, 5  # what the dial of an oven is marked in; common practice of printed recipes
GAS_MARK_F = 250  # gas mark 1 is 275 F, each mark 25 F more: UK oven tables, common practice
BARE_F = 250  # "350 degrees" without a scale: no oven of a recipe is that hot in C
LEAST_OVEN_C = 140  # lower ones without a word are as likely a syrup's
OVEN_AGREES_C = 10.0  # both dials rounded: 2.5 C and 12.5 F / 1.8
PROBE_AGREES_C = 3.0  # the house rule for F beside C

_DEGREES = r"(?:°|º|˚|℉|℃|-?\s*degrees?\b|\bdeg\b\.?)"
_SCALE = r"(?:fahrenheit|celsius|centigrade|[FC])\b"
_NUMBER = re.compile(
    r"(?<![\d.,])(?<!\d/)(?P<low>\d{2,3}|-\d{1,2})(?:\s*(?:-|–|—|to|or)\s*(?P<high>\d{2,3}))?\s*"
    rf"(?:(?P<degrees>{_DEGREES})\s*(?P<scale>{_SCALE})?|(?P<plain>{_SCALE}))"
    r"|\bgas(?:\s+mark)?\s+(?P<gas>10|[1-9])\b"
    r"|\b(?:bake|oven|preheat)(?:\s+(?:the|oven|in|at|to|a))*\s+(?P<bare>[2-5][05]0|[2-5][27]5)\b"
    rf"(?!\s*(?:{_DEGREES}|{_SCALE}|[-–—/]|to\b|or\b|(?:g|ml|min|minutes|kcal)\b))",
    re.I,
)  # fmt: skip
_BETWEEN = re.compile(r"[\s/(),;|=≈~]*(?:(?:or|fan|convection|about)[\s/(),;]*)*", re.I)
_OVEN = re.compile(r"\b(oven|bak(?:e|ed|ing)|preheat\w*|pre-heat\w*|heat to|roast\w*|broil\w*|grill\w*|rack|fan|gas)\b",
                   re.I)  # fmt: skip
_PROBE = re.compile(r"\b(syrup|thermometer|internal|registers?|reads?|probe|oil|fry\w*|caramel|candy|sugar|"
                    r"ball|crack|milk|water|cent(?:er|re)|custard|chocolate|temper\w*|melt\w*|cool\w*|boil\w*)\b",
                    re.I)  # fmt: skip
_LEADS = re.compile(r"\b(?:to|at|below|above|under|over|reach(?:es)?)\s+$", re.I)
_CHANGE = re.compile(r"\b(?:by|another|further)\s+(?:about\s+)?$", re.I)
_CHANGE_AFTER = re.compile(r"^\s*(?:lower|higher|less|more|hotter|cooler)\b", re.I)


@dataclass(frozen=True, slots=True)
class Temperature:
    """One temperature as written: its ends and scale ("F" or "C"), where it stands [letters], what it is of.

    `change` tells "25 F lower" from a temperature. `written` is "scale", "bare" ("350 degrees") or "gas" (a mark).
    """

    low: float
    high: float
    scale: str
    start: int
    end: int
    oven: bool
    change: bool = False
    written: str = "scale"

    @property
    def celsius(self) -> float:
        """The middle of it in degrees Celsius."""
        middle = (self.low + self.high) / 2.0
        return (middle - 32.0) / 1.8 if self.scale == "F" else middle


def temperatures_in(text: str) -> tuple[Temperature, ...]:
    """Return every temperature that a text writes; "350 degrees" is taken as F, a gas mark as its F."""
    return tuple(_read(text))


def _read(text: str) -> Iterator[Temperature]:
    for hit in _NUMBER.finditer(text):
        if hit["gas"]:
            value = float(GAS_MARK_F + OVEN_F * int(hit["gas"]))
            yield Temperature(value, value, "F", hit.start(), hit.end(), True, written="gas")
            continue
        if hit["bare"]:
            value = float(hit["bare"])
            if value >= BARE_F:
                yield Temperature(value, value, "F", hit.start("bare"), hit.end(), True, written="bare")
            continue
        low, high = float(hit["low"]), float(hit["high"] or hit["low"])
        word = (hit["scale"] or hit["plain"] or {"℉": "F", "℃": "C"}.get(hit["degrees"] or "", "")).lower()
        small = text[hit.end() - 1].islower() or (low < 100 and not _LEADS.search(text[: hit.start()]))
        if hit["plain"] and len(word) == 1 and small:
            continue  # "10 c sugar", "25 C flour" are cups
        scale = {"f": "F", "c": "C"}.get(word[:1], "")
        if not scale:
            if low < BARE_F:
                continue
            scale = "F"
        oven = _of_oven(text, hit.start(), low, scale)
        change = bool(_CHANGE.search(text[: hit.start()]) or _CHANGE_AFTER.search(text[hit.end() :]))
        end = hit.start() + len(hit.group().rstrip())
        yield Temperature(low, high, scale, hit.start(), end, oven, change, "scale" if word else "bare")


def _of_oven(text: str, place: int, degrees: float, scale: str) -> bool:
    """Whether a temperature at this place [letters] is the oven's: by the nearest word before it, else its sentence.

    Where no word tells, by whether degrees [of the scale "F" or "C"] is one that ovens are marked with.
    """
    start = max(text.rfind(mark, 0, place) for mark in (". ", "; ", "! ")) + 1
    ends = [end for mark in (". ", "; ", "! ") if (end := text.find(mark, place)) >= 0]
    sentence = text[start : min(ends, default=len(text))]
    before = text[start:place]
    last_oven = max((hit.start() for hit in _OVEN.finditer(before)), default=-1)
    last_probe = max((hit.start() for hit in _PROBE.finditer(before)), default=-1)
    if last_oven >= 0 or last_probe >= 0:
        return last_oven > last_probe
    if _OVEN.search(sentence) or _PROBE.search(sentence):
        return bool(_OVEN.search(sentence))
    return (
        degrees >= BARE_F and degrees % OVEN_F == 0 if scale == "F" else degrees >= LEAST_OVEN_C and degrees % 10 == 0
    )


def in_both_scales(text: str) -> tuple[str, tuple[str, ...]]:
    """Return a step with every temperature in F and in C, and what is to be said about them.

    The other scale is added in brackets after what is written: nothing written is changed. An oven's is rounded to
    what its dial is marked in, 25 F and 5 C, any other to a degree. Where both scales stand already, they are only held
    against one another.
    """
    found = temperatures_in(text)
    notes: list[str] = []
    pieces: list[str] = []
    place = 0
    for group in _groups(text, found):
        given = [one for one in group if one.written != "gas"] or group
        if {one.scale for one in given} == {"F", "C"}:
            notes += _disagreement(given)
            continue
        first = given[0]
        pieces += [text[place : first.end], _added(first)]
        place = first.end
        if first.written == "bare":
            notes.append(f'"{text[first.start : first.end]}" is taken as Fahrenheit')
    return "".join((*pieces, text[place:])), tuple(notes)


def _groups(text: str, found: tuple[Temperature, ...]) -> list[list[Temperature]]:
    """Return temperatures that are writings of one, parted only by strokes and brackets ("180C/350F/gas 4")."""
    groups: list[list[Temperature]] = []
    for one in found:
        last = groups[-1][-1] if groups else None
        if last is not None and _BETWEEN.fullmatch(text[last.end : one.start]) and _same(text, last, one):
            groups[-1].append(one)
        else:
            groups.append([one])
    return groups


def _same(text: str, first: Temperature, second: Temperature) -> bool:
    """Whether two temperatures side by side are one: in another scale, a gas mark, or a fan's beside the oven's."""
    if first.scale != second.scale or "gas" in (first.written, second.written):
        return True
    return "fan" in text[first.end : second.end + 5].lower()


def _disagreement(group: list[Temperature]) -> list[str]:
    """Return a note where F and C of one temperature differ by more than rounding; a fan's lower C is let pass."""
    fahrenheit = next(one for one in group if one.scale == "F")
    celsius = [one for one in group if one.scale == "C"]
    allowed = OVEN_AGREES_C if fahrenheit.oven else PROBE_AGREES_C
    if fahrenheit.change or any(abs(one.celsius - fahrenheit.celsius) <= allowed for one in celsius):
        return []
    said = f"{fahrenheit.low:g} °F is {fahrenheit.celsius:.0f} °C, the recipe says {celsius[0].low:g} °C"
    return [f"{said}: one of them is a slip"]


def _added(one: Temperature) -> str:
    """Return what stands in brackets after a temperature: the other scale, both for a gas mark."""
    ends = dict.fromkeys(_other(value, one) for value in (one.low, one.high))
    other = " to ".join(f"{value:g}" for value in ends) + (" °C" if one.scale == "F" else " °F")
    if one.written == "gas":
        return f" ({one.low:g} °F, {other})"
    return f" F ({other})" if one.written == "bare" else f" ({other})"


def _other(value: float, one: Temperature) -> float:
    """Return a figure of a temperature in the other scale, rounded by the trade."""
    zero = 0.0 if one.change else 32.0
    turned = (value - zero) / 1.8 if one.scale == "F" else value * 1.8 + zero
    step = (OVEN_C if one.scale == "F" else OVEN_F) if one.oven else 1
    if one.change and one.scale == "C":
        step = 5
    return float(step * round(turned / step))
