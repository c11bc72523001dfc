"""The method of a card: a text taken apart into steps, times as ranges, temperatures in both scales."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence

from batchwright.formula.records import Step
from batchwright.writeup.records import CardStep
from batchwright.writeup.temperatures import in_both_scales

TIME_SPREAD_FRACTION = 0.1
"""How far one printed time is widened each way for another oven: common practice of tested recipes, whose ranges
("20 to 24 minutes") are about a tenth to either side of their middle."""
LONGEST_HEADING = 60  # letters

_NUMBERED = re.compile(r"^\s*(?:step\s*)?(\d{1,2})\s*[.):]\s+|^\s*step\s+\d{1,2}\s*[-–—]?\s*", re.I)
_BULLET = re.compile(r"^\s*[-*•–—▢□☐]\s+")
_TITLE = re.compile(r"^(?:method|directions?|instructions?|preparation|steps?|how to make (?:it|them))\s*:?$", re.I)
_FOR_PART = re.compile(r"^(?:(?:to\s+)?make\s+the\s+|for\s+the\s+|the\s+)?(.+?)\s*:$", re.I)
_WORDS = {"one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "seven": 7, "eight": 8, "nine": 9, "ten": 10,
          "twelve": 12, "fifteen": 15, "twenty": 20, "thirty": 30, "forty": 40, "sixty": 60}  # fmt: skip
_TIME = re.compile(
    r"(?<![\d/.–-])\b(?P<number>\d+(?:\s+\d/\d|/\d|\.\d+)?|" + "|".join(_WORDS) + r")"
    r"\s*(?P<unit>min(?:ute)?s?\b\.?|h(?:ou)?rs?\b\.?)",
    re.I,
)  # fmt: skip
_RANGE_BEFORE = re.compile(r"(?:\d|hours?|hrs?|" + "|".join(_WORDS) + r")\s*(?:-|–|—|to|or|and)?\s*$", re.I)
_NOT_A_RANGE = re.compile(
    r"\b(?:at least|every|after|up to|within|no more than|maximum of|last|first|final|remaining|another|more than|"
    r"less than|under|over|each|for the next|minimum of)\s+(?:the\s+|about\s+)?$", re.I)  # fmt: skip
_AFTER_TIME = re.compile(r"^\s*(?:or (?:more|longer|so|until)|before|ahead|at a time|longer|more)\b", re.I)
_HEAT = re.compile(r"\b(bak\w*|roast\w*|boil\w*|simmer\w*|cook\w*|fr(?:y|ies|ying)|toast\w*|brown\w*|steam\w*|broil\w*|"
                   r"grill\w*|oven|caramelis\w*|carameliz\w*|return to)\b", re.I)  # fmt: skip
_REST = re.compile(r"\b(chill\w*|rest\w*|cool\w*|refrigerat\w*|stand|freez\w*|proof\w*|prove\w*|rise\w*|soak\w*|set|"
                   r"knead\w*|beat\w*|mix\w*|whisk\w*|whip\w*|stir\w*)\b", re.I)  # fmt: skip


def steps_of_text(text: str) -> tuple[Step, ...]:
    """Return the steps of a method text as typed: numbered or bulleted lines, or a line or paragraph each.

    A short line that ends with a colon, or a heading of Markdown, names the part that the steps below belong to.
    Words like "Method" alone are left out; nothing else is. Lines that go on without a number join the one above.
    """
    lines = [line.rstrip() for line in text.replace("\r\n", "\n").replace("\r", "\n").split("\n")]
    numbered = any(_NUMBERED.match(line) for line in lines)
    bulleted = any(_BULLET.match(line) for line in lines)
    steps: list[tuple[str, str]] = []
    part, fresh = "", True
    for line in lines:
        words = line.strip().strip("#*").strip()
        if not words:
            fresh = True
            continue
        marked = bool(_NUMBERED.match(line) or _BULLET.match(line))
        if not marked and (_TITLE.match(words) or line.lstrip().startswith("#") or _is_heading(words)):
            named = _FOR_PART.match(words)
            part = "" if _TITLE.match(words) else (named[1] if named else words)
            fresh = True
            continue
        words = _BULLET.sub("", _NUMBERED.sub("", line)).strip()
        goes_on = steps and not marked and not fresh and (numbered or bulleted or words[:1].islower())
        if goes_on or (numbered and steps and not marked and steps[-1][1] == part and not fresh):
            steps[-1] = (f"{steps[-1][0]} {words}", part)
        elif words:
            steps.append((words, part))
        fresh = False
    return tuple(Step(words, part) for words, part in steps)


def _is_heading(words: str) -> bool:
    return len(words) <= LONGEST_HEADING and words.endswith(":") and len(words.split()) <= 6


def card_steps(steps: Sequence[Step]) -> tuple[CardStep, ...]:
    """Return steps as a card prints them: one time of heat becomes a range, temperatures stand in F and C.

    Beyond that the cook's words are left as they are; each step's notes say what was done.
    """
    made = []
    for step in steps:
        ranged, widened = _ranged(" ".join(step.text.split()))
        text, notes = in_both_scales(ranged)
        made.append(CardStep(text, step.part, (*widened, *notes)))
    return tuple(made)


def _ranged(text: str) -> tuple[str, tuple[str, ...]]:
    """Return a step with each single time of heat widened to a range, and what was widened."""
    pieces: list[str] = []
    notes: list[str] = []
    place = 0
    for hit in _TIME.finditer(text):
        before, after = text[: hit.start()], text[hit.end() :]
        if _RANGE_BEFORE.search(before) or _NOT_A_RANGE.search(before) or _AFTER_TIME.match(after):
            continue
        if not _of_heat(text, hit.start()) or re.match(r"\s*(?:\d|and\s+\d)", after):
            continue
        minutes = _minutes(hit["number"], hit["unit"])
        said = _range_text(minutes)
        if minutes <= 0 or not said:
            continue
        ends_sentence = hit.group().endswith(".") and (not after.strip() or after.lstrip()[:1].isupper())
        pieces += [text[place : hit.start()], said + "." * ends_sentence]
        place = hit.end()
        notes.append(f'"{hit.group().strip()}" was one time: a tenth each way for another oven')
    return "".join((*pieces, text[place:])), tuple(notes)


def _of_heat(text: str, place: int) -> bool:
    """Whether the time at a place [letters] is one of heat: by the nearest verb before it in its sentence."""
    start = max(text.rfind(mark, 0, place) for mark in (". ", "; ", "! ")) + 1
    before = text[start:place]
    heat = max((hit.start() for hit in _HEAT.finditer(before)), default=-1)
    rest = max((hit.start() for hit in _REST.finditer(before)), default=-1)
    return heat > rest


def _minutes(number: str, unit: str) -> float:
    """Return a time in minutes; 0 where its figure is none."""
    if number.lower() in _WORDS:
        value = float(_WORDS[number.lower()])
    else:
        value = 0.0
        for piece in number.split():
            top, _, bottom = piece.partition("/")
            value += float(top) / float(bottom) if bottom and float(bottom) else float(top) if not bottom else 0.0
    return value * (60.0 if unit.lower().startswith("h") else 1.0)


def _range_text(minutes: float) -> str:
    """Return a tenth to either side in words: minutes, from half an hour fives, from three hours quarters."""
    step = 1 if minutes < 30 else 5 if minutes < 180 else 15
    spread = max(step, TIME_SPREAD_FRACTION * minutes)
    low = max(1, step * math.floor((minutes - spread) / step + 0.5))
    high = step * math.floor((minutes + spread) / step + 0.5)
    if low >= high:
        return ""
    if minutes >= 180:
        return f"{_hours(low)} to {_hours(high)} hours"
    return f"{low} to {high} minutes"


def _hours(minutes: int) -> str:
    """Return whole quarters of an hour as cooks write them: "2 3/4"."""
    whole, rest = divmod(minutes, 60)
    quarter = {0: "", 15: " 1/4", 30: " 1/2", 45: " 3/4"}[rest]
    return f"{whole}{quarter}"
