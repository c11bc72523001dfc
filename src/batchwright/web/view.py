"""Pages from templates: one environment, the same few names in every page."""

from __future__ import annotations

import re
import secrets
from collections.abc import Mapping, Sequence
from functools import cache
from pathlib import Path
from typing import Any

from fastapi import Request
from jinja2 import Environment, FileSystemLoader, StrictUndefined, select_autoescape
from markupsafe import Markup

from batchwright import __version__
from batchwright.base.errors import Fault
from batchwright.base.estimate import Estimate
from batchwright.base.shown import nice_axis_max, shown_number, shown_range, shown_sure_range
from batchwright.formula.comparing.records import Beside, Move
from batchwright.formula.fitting.records import Outcome
from batchwright.web.doors import CSRF_FIELD, Door
from batchwright.web.encoded import PageAnswer
from batchwright.web.original_form import PANEL_LABELS
from batchwright.web.ranges import axis_svg, ghost_svg, range_svg
from batchwright.web.units import NO_BREAK, Units, units_from_cookies

HERE = Path(__file__).parent
BAD_INPUT = 422
FIELD_NAMES = {"label.text": "The ingredient list", "teardown.pieces_g": "Whole pieces", "teardown.brix": "Brix",
               "teardown.knife_g": "Left on the knife"}  # fmt: skip


@cache
def _templates() -> Environment:
    """Return the environment; everything put into a page is escaped."""
    made = Environment(
        loader=FileSystemLoader(HERE / "templates"),
        autoescape=select_autoescape(default=True, default_for_string=True),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        auto_reload=False,
    )
    made.filters["slug"] = slug
    made.filters["estimate"] = estimate_of
    made.filters["move_words"] = move_words
    made.filters["miss_words"] = miss_words
    made.filters["field_name"] = field_name
    made.filters["moment"] = moment
    made.filters["axis_name"] = axis_name
    made.filters["sentence_case"] = sentence_case
    made.filters["held"] = held
    made.filters["firm"] = firm
    made.filters["plain_note"] = plain_note
    made.filters["groupby_kept"] = groupby_kept
    made.tests["begins"] = lambda text, starts: str(text).startswith(starts)
    made.globals.update(
        version=__version__, guard=_guard_field, once=_once_field, shown_number=shown_number, shown_range=shown_range,
        shown_sure_range=shown_sure_range, nice_axis_max=nice_axis_max,
        range_svg=lambda *given, **named: Markup(range_svg(*given, **named)),
        ghost_svg=lambda *given: Markup(ghost_svg(*given)),
        axis_svg=lambda *given: Markup(axis_svg(*given)),
    )  # fmt: skip
    return made


def slug(text: str) -> str:
    """Return a text as it may stand in an element's id: letters, digits and dashes."""
    return re.sub(r"[^A-Za-z0-9]+", "-", text).strip("-").lower()


def axis_name(axis: Beside) -> str:
    """Return what an axis is called on a page: classes told from what a panel counts."""
    return f"{axis.name}, as an ingredient" if axis.kind == "class" else axis.name


def field_name(field: str) -> str:
    """Return what a field is called on the original's page: "panel1.fat_g" is "Panel 2, fat"; empty if unknown."""
    if field.startswith("match:"):
        return f"“{field.removeprefix('match:')}”"
    panel = re.fullmatch(r"panel(\d)\.(\w+)", field)
    if panel is None or panel[2] not in (*PANEL_LABELS, "serving_g"):
        return FIELD_NAMES.get(field, "")
    name = PANEL_LABELS.get(panel[2], "A serving, g").rsplit(",", 1)[0]
    return f"{'Panel' if panel[1] == '0' else f'Panel {int(panel[1]) + 1}'}, {name[:1].lower()}{name[1:]}"


def moment(when: str) -> Markup:
    """Return a time of the book [ISO 8601, UTC] as a page says it; a script puts it into the time of the place."""
    return Markup('<time datetime="{}">{} {} UTC</time>').format(when, when[:10], when[11:16])


def sentence_case(text: str) -> str:
    """Return words as a sentence: a capital first, a full stop last."""
    return text[:1].upper() + text[1:].rstrip(".") + "." if text else ""


def firm(text: str) -> str:
    """Return words in which a number and its unit stay on one line."""
    return re.sub(r"(?<=\d) (?=(?:%|g|oz|mm|°[CF])(?!\w))", NO_BREAK, text)


def held(pins: str) -> list[tuple[str, str]]:
    """Return what holds the two ends of a range as sentences begin: "Not less than that because of", the lines."""
    least, _, most = pins.partition("; most: ")
    if not most:
        side = "Held by"
        for start, words in (("least: ", "No less, because of"), ("most: ", "No more, because of")):
            if pins.startswith(start):
                side, pins = words, pins.removeprefix(start)
        return [(side, _pins_said(pins))] if pins else []
    return [
        ("No less, because of", _pins_said(least.removeprefix("least: "))),
        ("No more, because of", _pins_said(most)),
    ]


def _pins_said(pins: str) -> str:
    """Return the lines that hold an end as one says them: "weighed: pastry 51 to 63 % …, order, 5 more"."""
    said = re.sub(r"\bweighed: ", "the weight of the ", pins)
    said = re.sub(r"(^|, )order(?=,|$)", r"\1its place in the list", said)
    return re.sub(r", (\d+ more)$", r" and \1", said)


def plain_note(note: str) -> str:
    """Return a note on a panel or a tear-down as a sentence: "panel: fat_g: got '70'; …" without its keys."""
    where, _, rest = note.partition(": ")
    key, parted, said = rest.partition(": got ")
    if not parted:
        return sentence_case(f"{where}: {rest}")
    name = PANEL_LABELS.get(key, key.replace("_", " "))
    value, _, allowed = said.partition("; allowed: ")
    where, name = sentence_case(where).rstrip("."), name[:1].lower() + name[1:]
    return f"{where}, {name}: {value} stands there; allowed: {allowed}"


def groupby_kept(rows: Sequence[Mapping[str, Any]], key: str) -> list[tuple[str, list[Mapping[str, Any]]]]:
    """Return rows by what stands under a key, the groups in the order in which each is met first."""
    groups: dict[str, list[Mapping[str, Any]]] = {}
    for row in rows:
        groups.setdefault(str(row[key]), []).append(row)
    return list(groups.items())


def move_words(move: Move, units: Units) -> str:
    """Return one move in a cook's words and the screen's units: "butter from 142 g to 110 g"."""
    where = f" in {move.part}" if move.part else ""
    ends = f"from {units.mass(move.from_g)} to {units.mass(move.to_g)}"
    if move.kind == "add":
        return f"Add {units.mass(move.to_g - move.from_g)} of {move.item}{where}."
    if move.kind == "leave out":
        return f"Leave out {move.item}{where} ({units.mass(move.from_g)})."
    if move.kind == "swap":
        return f"Take {units.mass(move.for_to_g - move.for_from_g)} of {move.for_item} for {move.item}{where}, {ends}."
    return f"{move.kind.capitalize()} {move.item}{where} {ends}."


def miss_words(outcome: Outcome) -> str:
    """Return in words what of a fit's targets stays off: "Filling: salt stays over 0.08 %, at 0.11 %."."""
    name = outcome.name.removeprefix("part: ").replace(" (class)", ", as an ingredient")
    short = outcome.low is not None and outcome.after < outcome.low
    limit = outcome.low if short else outcome.high
    assert limit is not None  # what is missed has the end that it is beyond
    ends = [f"{shown_number(each, outcome.missed)}{NO_BREAK}{outcome.unit}".rstrip() for each in (limit, outcome.after)]
    gave_way = " It gave way to all the others." if outcome.preference else ""
    return f"{sentence_case(name)[:-1]} stays {'under' if short else 'over'} {ends[0]}, at {ends[1]}.{gave_way}"


def estimate_of(numbers: Mapping[str, Any]) -> Estimate:
    """Return the estimate whose five numbers stand in a JSON object."""
    sure = numbers.get("sure_low"), numbers.get("sure_high")
    return Estimate(numbers["likely"], numbers["low"], numbers["high"], *sure)


def _guard_field(door: Door) -> Markup:
    """Return the hidden field that shows a form came from our own page."""
    return Markup('<input type="hidden" name="{}" value="{}">').format(CSRF_FIELD, door.csrf)


def _once_field() -> Markup:
    """Return the hidden field by which the same form sent twice is kept once."""
    return Markup('<input type="hidden" name="key" value="{}">').format(secrets.token_hex(12))


def said_faults(faults: Sequence[Fault]) -> list[dict[str, str]]:
    """Return faults as the pages show them: the field, and the whole matter in words."""
    said = []
    for fault in faults:
        given = "" if fault.value in (None, "") else f"“{str(fault.value)[:80]}” cannot stand here. "
        hint = f" {fault.hint}" if fault.hint else ""
        words = f"{given}Allowed: {fault.allowed}."
        if fault.field == "book":  # nothing that was typed is wrong
            words = f"Needed: {fault.allowed}."
        said.append({"field": fault.field, "said": f"{words}{hint}"})
    return said


def page(
    request: Request, template: str, context: Mapping[str, Any], faults: Sequence[Fault] = (), status: int | None = None
) -> PageAnswer:
    """Return a page. The context names its `title` and `bench`; units, door and path are added.

    faults: what is wrong with what was typed; with any, the page is sent as 422 unless `status` says otherwise.
    """
    common = {
        "units": units_of(request),
        "door": request.state.door,
        "path": request.url.path,
        "rebuild": None,
        "cups": request.app.state.cups,
        "faults": said_faults(faults),
    }
    text = _templates().get_template(template).render({**common, **context})
    return PageAnswer(text, status or (BAD_INPUT if faults else 200))


def units_of(request: Request) -> Units:
    """Return the units chosen for this screen."""
    return units_from_cookies(request.cookies, request.app.state.cups)


def page_of(request: Request) -> str:
    """Return whose work this is, for the desk: of this device and page, only the newest question waits."""
    door = request.state.door
    return f"{door.device_id if door else 0} {request.url.path}"


def fragment(request: Request, template: str, context: Mapping[str, Any], faults: Sequence[Fault] = ()) -> PageAnswer:
    """Return a piece of a page, for the live answer; always 200, as what is typed is never refused half-way."""
    return page(request, template, {**context, "title": "", "bench": ""}, faults, status=200)
