"""Steps of a method and the yield: times in minutes, temperatures in degrees Celsius, sentences told apart."""

from __future__ import annotations

import re
from collections.abc import Sequence

from batchwright.formula.lines.draft import Draft, at
from batchwright.formula.lines.numbers import number
from batchwright.formula.lines.tokens import Token, plain, text_of, tokens_of
from batchwright.formula.lines.words import ABOUT, SIZES, UNITS, word_set
from batchwright.formula.records import Step, Yield

_MINUTES = {"second": 1 / 60, "seconds": 1 / 60, "sec": 1 / 60, "secs": 1 / 60, "minute": 1.0, "minutes": 1.0,
            "min": 1.0, "mins": 1.0, "mn": 1.0, "hour": 60.0, "hours": 60.0, "hr": 60.0, "hrs": 60.0, "h": 60.0,
            "minuten": 1.0, "stunde": 60.0, "stunden": 60.0,
            "heure": 60.0, "heures": 60.0, "day": 1440.0, "days": 1440.0,
            "week": 10080.0, "weeks": 10080.0}  # fmt: skip
"""Spellings of times in minutes."""
_HEATED = re.compile(r"\b(?:bake|baked|baking|roast|oven|cook|boil|simmer|fry|toast)\b", re.IGNORECASE)
_DEGREES = re.compile(
    r"(\d{2,3})\s*(°|º|degrees?\b|deg\b\.?)?\s*(fahrenheit\b|celsius\b|centigrade\b|[FC]\b|[fc]\b(?!\.?\s*[a-z]))",
    re.IGNORECASE,
)
_GAS = re.compile(r"\b(?:gas\s*(?:mark|no\.?|regulo)?|regulo|mark)\s*(\d(?:/\d)?)\b", re.IGNORECASE)
_BARE = re.compile(
    r"\b(?:bake|baking|oven|preheat|roast)\b[^.\d]{0,40}?(\d{3})\b(?!\s*(?:g|ml|min|gram|sec|mm)\b)", re.IGNORECASE
)
_ABBREVIATED = word_set("w approx abt min mins hr hrs sec secs deg temp doz fl no vs etc e.g i.e sq ca in st dr mrs mr")
_YIELD = re.compile(
    r"^\W*(?:(?:recipe\s+)?(?:yields?|makes|made|servings?|serves|portions?|quantity)\b\s*[:=\-]?\s*"
    r"|for\s+(?=\d+\s+\w+$))",
    re.IGNORECASE,
)


def celsius(text: str) -> float | None:
    """Return the first temperature of a text [°C]: F, C, gas mark, or a bare oven figure; None where there is none.

    A gas mark n is taken as 250 + 25 n degrees F (half marks and quarters below 1: common practice of UK ovens). A bare
    figure from 275 on is F, up to 240 C: home ovens reach neither 275 °C nor are worked at 240 °F.
    """
    for found in _DEGREES.finditer(text):
        value, sign, scale = float(found[1]), found[2], found[3][0].upper()
        if scale == "C" and (sign or value >= 100) and value <= 330:
            return value
        if scale == "F" and 30 <= value <= 600:
            return round((value - 32) / 1.8, 1)
    gas = _GAS.search(text)
    if gas and not gas[1].endswith("/0"):
        over, _, below = gas[1].partition("/")
        mark = int(over) / int(below or 1)
        fahrenheit = 250 + 25 * mark if mark >= 1 else 225 + 50 * (mark - 0.25) / 0.5
        return round((fahrenheit - 32) / 1.8, 1)
    bare = _BARE.search(text)
    if bare:
        value = float(bare[1])
        if value >= 275 and value <= 550:
            return round((value - 32) / 1.8, 1)
        if 100 <= value <= 240:
            return value
    return None


def _times(tokens: Sequence[Token]) -> list[tuple[float, float, int]]:
    """Return every time of a step as low and high [min] and where it stands."""
    found: list[tuple[float, float, int]] = []
    i = 0
    while i < len(tokens):
        read = number(tokens, i, Draft()) if tokens[i].kind != "p" or tokens[i].text != "-" else None
        if read is None:
            i += 1
            continue
        low, high, end = read
        unit = end + (at(tokens, end).text == "-") + (at(tokens, end).lower == "more")
        factor = _MINUTES.get(at(tokens, unit).lower.split("-")[0])
        if factor is None or low < 0:
            i = max(end, i + 1)
            continue
        low, high, i = low * factor, high * factor, unit + 1
        i += at(tokens, i).text == "."
        step = i + (at(tokens, i).lower in ("and", ","))
        more = number(tokens, step, Draft()) if at(tokens, step).kind == "n" else None
        if more is not None and factor > (_MINUTES.get(at(tokens, more[2]).lower) or factor):
            smaller = _MINUTES[at(tokens, more[2]).lower]
            low, high, i = low + more[0] * smaller, high + more[1] * smaller, more[2] + 1
        found.append((low, high, tokens[unit].start))
    return found


def step_of(text: str, part: str = "") -> Step:
    """Return a step with the temperature and the time found in it; of several times the one in the heat."""
    line = plain(text)
    times = _times(tokens_of(line.replace("(", " ").replace(")", " ")))
    heated = [each for each in times if _HEATED.search(line[max(0, each[2] - 90) : each[2]])]
    low, high = (heated or times)[0][:2] if times else (None, None)
    low, high = (None if each is None else round(each, 2) for each in (low, high))
    return Step(text, part, low, high, celsius(line))


def sentences(text: str) -> list[str]:
    """Return the sentences of a text; the point of an abbreviation (1 tsp. salt, 10 min.) ends none."""
    found, start = [], 0
    for end in re.finditer(r"[.!?]\s+", text):
        before = re.search(r"[\w/½¼¾]+$", text[start : end.start()])
        word = before[0].lower() if before else ""
        nxt = text[end.end() : end.end() + 1]
        short = word in _ABBREVIATED or word in SIZES or word in UNITS or (len(word) == 1 and word.isalpha())
        if end[0][0] == "." and short and not (nxt.isupper() and word not in ("w", "c", "no", "st", "dr", "mr", "mrs")):
            continue
        found.append(text[start : end.end()].strip())
        start = end.end()
    return [each for each in (*found, text[start:].strip()) if each]


def yield_of(text: str) -> Yield | None:
    """Return what a line says the recipe makes ("Makes abt 4 doz."); None where it says no such thing."""
    line = plain(text)
    head = _YIELD.match(line)
    if head is None:
        return None
    tokens = tokens_of(line[head.end() :])
    i = 0
    while at(tokens, i).lower in ABOUT or at(tokens, i).text in (".", ":"):
        i += 1
    read = number(tokens, i, Draft()) if at(tokens, i).lower not in ("a", "an") else (1.0, 1.0, i + 1)
    serves = "serv" in head[0].lower() or "portion" in head[0].lower()
    if read is None:
        return None if len(tokens) > 6 or not tokens else Yield(text)
    low, high, end = read
    stop = next((i for i in range(end, len(tokens)) if tokens[i].text in ("|", ";", ".")), len(tokens))
    words = [token for token in tokens[end:stop] if token.kind in "wn" or token.text in "-\"'"]
    what = text_of(line[head.end() :], words)
    return Yield(text, low, high, what or ("servings" if serves else ""))
