"""A nutrition panel from pasted text: American and European tables, several columns, slips of text recognition."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from decimal import Decimal

from batchwright.base.errors import Fault, InputError
from batchwright.original.panels.columns import Column, columns_of, serving_of, servings_per_pack, speaks_of_pack
from batchwright.original.panels.lines import Amount, amounts_of, line_names
from batchwright.original.panels.panel import read_panel
from batchwright.original.panels.reading import unit_of
from batchwright.original.panels.records import PER_100_G, PER_SERVING, Panel

LONGEST_PANEL = 40_000  # characters of pasted text that are looked at, from the first sign of a panel on
SIGN = re.compile(
    r"nutriti|typical values|average values|amount per|serving size|calories|energy|[0-9] ?k(?:cal|j)\b", re.I
)
FOOTNOTE = re.compile(
    r"percent daily values? (?:are|is) based|\* ?the ?% ?daily value|depending on your calorie needs|calories per gram"
    r"|reference intakes? of an average|% ?daily value \(dv\) tells",
    re.I,
)
NOT_A_SOURCE = re.compile(r"not a significant source of ([^.*\n]{1,300})", re.I)
FROM_FAT = re.compile(
    r"(?:calories|cal\.?|energy)\s*from\s*(?:saturated\s*)?fat\s*:?\s*[0-9oOlI]{0,4}|fat[ \t]*calories\s*[0-9]{0,4}",
    re.I,
)
ADDED = re.compile(
    r"incl(?:udes?|uding|\.)?\s*((?:less than|<)?\s*[0-9oOlI][0-9oOlI.,]{0,6}\s*[gq9]?)\s*(?:of\s*)?added\s*sugars?",
    re.I,
)


@dataclass
class _Block:
    """One table of the text: its head and the amounts found behind each name."""

    head: str
    lines: dict[str, list[Amount]] = field(default_factory=dict)
    repairs: list[str] = field(default_factory=list)
    start: int = 0
    end: int = 0
    tail: str = ""
    calories: bool = False


def read_panel_text(text: str) -> Panel:
    """Return the first panel in pasted text; an empty one, with a fault that says so, where the text holds none.

    text: a US Nutrition Facts panel or a European table, as pasted or as recognised from a picture. Slips (O for 0, l
    for 1, 9 for g, lost blanks) are read through and told in `notes`. Source of the rounding: see `printed_interval`.
    """
    panels = read_panels_text(text)
    if panels:
        return panels[0]
    return Panel(
        faults=(Fault("panel", text, "lines such as 'Total Fat 7g' or 'Energy 1573 kJ'", "No panel was found."),)
    )


def read_panels_text(text: str) -> tuple[Panel, ...]:
    """Return every panel in pasted text, one for each column ("per 100 g" beside "per serving") and each table.

    text: as for `read_panel_text`. Columns of percentages are used as % daily values where the panel is American.
    """
    found: list[Panel] = []
    for block in _blocks(text):
        found.extend(_panels_of(block))
    return tuple(found)


def split_label_text(text: str) -> tuple[str, str]:
    """Return (statement text, panel text) of a whole packet's pasted text; nothing is lost, either may be empty.

    The panel is the stretch of its lines, from its heading to its footnote; with an "Ingredients" heading in the rest,
    what stands before that heading (a name, a claim) goes with the panel text, which reads past it.
    """
    blocks = [block for block in _blocks(text) if len(block.lines) >= 3]
    if not blocks:
        return text, ""
    start, end = blocks[0].start, blocks[-1].end
    before, panel, after = text[:start], text[start:end], text[end:]
    head = INGREDIENTS.search(before)
    if head:
        statement = before[head.start() :]
        joined = statement.strip() + ("\n" + after.strip() if after.strip() else "")
        return joined, (before[: head.start()] + panel).strip()
    tail = INGREDIENTS.search(after)
    if tail:
        return after[tail.start() :].strip(), (before + panel + after[: tail.start()]).strip()
    return (before.strip() + "\n" + after.strip()).strip(), panel.strip()


UNITS_SHOWN = re.compile(r"[0-9oOlI]\s?(?:m?g|kJ|kj|KJ|kcal)(?![a-z])")
INGREDIENTS = re.compile(r"\bingr[eé]d[il1]ents?\b|\bmade (?:from|with|of)\b", re.I)


def _blocks(text: str) -> Iterator[_Block]:
    """Yield the tables of a text in order, each with at least two lines that hold an amount."""
    sign = SIGN.search(text)
    first = next(line_names(text[:LONGEST_PANEL]), None)
    starts = [place for place in (sign.start() if sign else None, first[1] if first else None) if place is not None]
    if not starts:
        return
    offset = max(0, min(starts) - 300)
    stretch = text[offset : offset + LONGEST_PANEL]
    foot = FOOTNOTE.search(stretch)
    body = stretch[: foot.start()] if foot and foot.start() > 40 else stretch
    absent = NOT_A_SOURCE.search(stretch)
    if absent:
        body = body[: absent.start()] + " " * (min(len(body), absent.end()) - absent.start()) + body[absent.end() :]
    body = body.replace("&lt;", "   <")
    body = FROM_FAT.sub(lambda found: " " * len(found[0]), body)
    body = ADDED.sub(lambda found: f"added sugars {found[1]}".ljust(len(found[0])), body)
    for block in _tables(body):
        block.start += offset
        block.end += offset
        if absent:
            for nutrient, _, _ in line_names(absent[1]):
                if nutrient and nutrient not in block.lines:
                    block.lines[nutrient] = [Amount("not a significant source", "", "")]
            block.end = max(block.end, offset + absent.end())
        if foot and offset + foot.start() >= block.end and foot.start() < len(stretch):
            block.end = offset + _end_of_footnote(stretch, foot.start())
        yield block


def _end_of_footnote(stretch: str, start: int) -> int:
    """Return where a footnote ends: at an ingredient heading, a blank line, or its last sentence."""
    head = INGREDIENTS.search(stretch, start)
    blank = re.search(r"\n\s*\n", stretch[start:])
    ends = [head.start() if head else len(stretch), start + blank.start() if blank else len(stretch)]
    return min(ends)


def _tables(body: str) -> Iterator[_Block]:
    names = list(line_names(body))
    block, head_start = _Block(""), 0
    waiting: list[str] = []
    units = bool(names) and bool(UNITS_SHOWN.search(body, names[0][1]))
    for place, (nutrient, start, end) in enumerate(names):
        stop = names[place + 1][1] if place + 1 < len(names) else min(len(body), end + 200)
        amounts, repairs, used = amounts_of(body[end:stop][:200], nutrient or "", units)
        if not any(amount.number for amount in amounts) and len(block.lines) < 3:
            amounts = []  # a bare percentage opens no panel: it is a declared quantity of an ingredient
        if nutrient is None or (not block.lines and _listed(body, start, end)):
            waiting = []
            continue
        if not amounts:
            waiting.append(nutrient)
            continue
        if nutrient in block.lines and len(block.lines) >= 4 and nutrient in ("energy_kcal", "energy_kj", "fat_g"):
            yield block
            block, head_start = _Block(""), block.end
        if not block.lines:
            block.head = body[max(head_start, start - 600) : start]
            block.start, block.end = _head_start(body, head_start, start), start
        if nutrient not in block.lines:
            spread = _spread(waiting, nutrient, amounts)
            block.lines.update(spread or {nutrient: amounts})
            block.repairs.extend(repairs)
        block.end = end + used
        block.tail = body[block.end : block.end + 80]
        block.calories |= body[start:end].lower().strip().startswith("calor")
        waiting = []
    if len(block.lines) >= 2:
        yield block


def _listed(body: str, start: int, end: int) -> bool:
    """Say whether a name stands in a list of ingredients above the panel ("..., sugar, salt,") and opens no panel."""
    first = body.rfind("\n", 0, start) + 1
    last = body.find("\n", start)
    line_end = len(body) if last < 0 else last
    above = body[max(0, first - 40) : first].rstrip()
    among = LIST_MARK.search(body, first, start) or LIST_MARK.match(body, end) or above.endswith((",", ";"))
    own_amount = re.search("[0-9]", body[start:line_end]) and not NEXT_HEAD.match(body, end)
    return bool(among) and not own_amount


def _spread(waiting: list[str], nutrient: str, amounts: list[Amount]) -> dict[str, list[Amount]] | None:
    """Deal out amounts that all stand behind the last name, as when a table was copied column by column."""
    names = [*waiting, nutrient]
    plain = [amount for amount in amounts if amount.percent == "" or amount.number]
    if len(names) < 3 or len(plain) % len(names):
        return None
    rows = len(names)
    columns = range(len(plain) // rows)
    return {name: [plain[place + rows * column] for column in columns] for place, name in enumerate(names)}


LIST_MARK = re.compile(r"[,;]")
NEXT_HEAD = re.compile(r"[\s.,;:]*(?:nutrit|typical|average|amount|serving|per\b)", re.I)
HEADING = re.compile(
    r"nutriti[o0]na?l?\s*(?:facts|information|declaration|values?)?|typical values|average values|serving size"
    r"|amount per|^[ \t]*(?:per\b.{0,20}[0-9] ?(?:g|ml)\b|[0-9.,]{1,6} ?(?:g|ml)\b.{0,12}(?:contain|serving|portion)"
    r"|[0-9.,]{1,6} ?k(?:j|cal)\b)",
    re.I | re.M,
)


def _head_start(body: str, floor: int, start: int) -> int:
    """Return where a table's heading begins, at most 400 characters before its first line."""
    window = max(floor, start - 400)
    found = HEADING.search(body[window:start])
    return window + found.start() if found else start


def _panels_of(block: _Block) -> list[Panel]:
    american = _american(block)
    columns = _columns(block, american)
    serving = serving_of(block.head) or serving_of(block.tail)
    panels = []
    for place, column in enumerate(columns):
        mapping: dict[str, object] = {"basis": column.basis, "column": column.words}
        weight = column.serving or (serving if column.basis == PER_SERVING else "")
        if weight and not column.serving and speaks_of_pack(column):
            count = servings_per_pack(block.head)
            weight = f"{Decimal(weight.split()[0].replace(',', '.')) * count} {weight.split()[1]}" if count else ""
        if weight:
            mapping["serving"] = weight
        if american:
            mapping["scheme"] = "US"
        for nutrient, amounts in block.lines.items():
            _put(mapping, nutrient, amounts, place, len(columns), american)
        panel = _read(mapping)
        if panel.figures:
            notes = tuple(dict.fromkeys(block.repairs))
            panels.append(replace(panel, notes=panel.notes + notes))
    return panels


def _american(block: _Block) -> bool:
    """Say whether a table is a Nutrition Facts panel: calories and sodium in milligrams, no kJ and no salt."""
    if "energy_kj" in block.lines or "salt_g" in block.lines:
        return False
    if any(amount.unit == "kJ" for amount in block.lines.get("energy_kcal", ())):
        return False
    words = (block.head + block.tail).lower()
    if block.calories and "per 100" not in words:
        return True
    return (
        "nutrition facts" in words or "amount per" in words or ("sodium_mg" in block.lines and "per 100" not in words)
    )


def _columns(block: _Block, american: bool) -> list[Column]:
    """Return the columns of amounts, from the head where it names them, else from how many amounts the lines hold."""
    named = columns_of(block.head) or columns_of(block.tail)[:1]
    counts = sorted(
        len([a for a in amounts if a.number]) for key, amounts in block.lines.items() if "energy" not in key
    )
    usual = counts[len(counts) // 2] if counts else 1
    if not named:
        named = [Column(PER_SERVING if american else PER_100_G)]
    if usual > len(named):
        rest = PER_SERVING if american or named[0].basis != PER_SERVING else PER_100_G
        named = named + [Column(rest, "", f"column {k + 1}") for k in range(len(named), min(usual, 4))]
    return named[: max(1, usual)] if usual < len(named) else named


def _put(
    mapping: dict[str, object], nutrient: str, amounts: list[Amount], place: int, columns: int, american: bool
) -> None:
    """Put a line's amount of one column, and its % daily value, into the mapping."""
    groups: dict[str, list[Amount]] = {}
    for amount in amounts:
        if amount.number:
            key = nutrient
            if nutrient.startswith("energy"):
                key = {"kJ": "energy_kj", "kcal": "energy_kcal"}.get(amount.unit, nutrient)
            groups.setdefault(key, []).append(amount)
    for key, row in groups.items():
        if place < len(row) and key not in mapping:
            amount = row[place]
            unit = amount.unit or unit_of(key)
            mapping[key] = amount.number if amount.number[0].isalpha() else f"{amount.number} {unit}"
            if american and amount.percent:
                mapping[f"{key}_percent_dv"] = f"{amount.percent}%"
    if not groups and american and place == 0 and amounts and amounts[0].percent:
        mapping[f"{nutrient}_percent_dv"] = f"{amounts[0].percent}%"
    del columns


def _read(mapping: dict[str, object]) -> Panel:
    """Read a mapping; what cannot be is left out and told as a fault, so that the rest still counts."""
    faults: tuple[Fault, ...] = ()
    for _ in range(3):
        try:
            return read_panel(mapping).with_faults(*faults)
        except InputError as error:
            faults += error.faults
            for fault in error.faults:
                mapping.pop(fault.field, None)
    return Panel(faults=faults)
