"""A whole recipe as people paste it: name, parts with their ingredient lines, method, yield; every line is kept."""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from functools import lru_cache

from batchwright.base.errors import Fault, InputError
from batchwright.formula.lines.line import LONGEST, read_line, read_several
from batchwright.formula.lines.steps import is_step
from batchwright.formula.lines.tokens import plain, tokens_of
from batchwright.formula.lines.words import NUMBERS
from batchwright.formula.recipes.page import Page, page_of
from batchwright.formula.recipes.steps import sentences, step_of, yield_of
from batchwright.formula.recipes.words import (
    BRACKETED,
    COMPONENTS,
    CREDIT,
    CREDITED,
    FOODS_TOO,
    HEADINGS,
    INGREDIENTS_FOR,
    NUMBERED,
    STEP_NUMBER,
    TIMES,
)
from batchwright.formula.records import ReadLine, ReadPart, ReadRecipe, Step, Yield
from batchwright.pantry.shelf import knows

_read = lru_cache(maxsize=256)(read_line)
"""A line is looked at several times while its place is sought, and read once."""
NO_DATA = "The page holds no recipe data that programs can read; its visible text was read instead."


@dataclass(slots=True)
class _Sorted:
    """Where the lines of a text have been put so far."""

    name: str = ""
    mode: str = "top"
    parts: list[tuple[str, list[ReadLine]]] = field(default_factory=list)
    unread: list[str] = field(default_factory=list)
    method: list[tuple[str, str]] = field(default_factory=list)
    makes: Yield | None = None
    credit: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    part: str = ""
    opened: list[str] = field(default_factory=list)
    amounts: bool = True
    after_blank: bool = False

    def add(self, *lines: ReadLine) -> None:
        """Add ingredient lines to the part being read."""
        if not self.parts or self.parts[-1][0] != self.part:
            self.parts.append((self.part, []))
        self.parts[-1][1].extend(lines)

    def open_part(self, name: str) -> None:
        """Begin a part."""
        self.part = name.strip(" :#*-=_").removesuffix(":").strip()
        self.opened.append(self.part)
        if self.mode in ("ingredients", "top"):
            self.parts.append((self.part, []))


def read_recipe(text: str) -> ReadRecipe:
    """Return a whole recipe as read; use it for what people paste, save or export.

    text: the recipe as written (name, headings per part, ingredient lines, method, yield in any order), a saved web
    page or JSON with schema.org Recipe data; nothing is fetched. Every line with a letter or a figure in it comes back
    in a part, the method, the name, yield, credit, notes or `unread`; only bare headings (Ingredients, Step 1) go.
    Raises InputError where there is no text at all, or JSON that is broken or holds no recipe.
    """
    if not text.strip():
        raise InputError(
            [Fault("recipe", text[:50], "the text of a recipe", "Paste the ingredient lines, one per line.")]
        )
    page = page_of(text)
    if page is None:
        return read_text(text)
    if not page.found:
        read = read_text(page.text) if page.text.strip() else ReadRecipe("", ())
        return replace(read, notes=(NO_DATA, *read.notes))
    return _from_page(page)


def read_text(text: str) -> ReadRecipe:
    """Return a recipe read from plain text alone, no page and no JSON; all else as `read_recipe`."""
    sorted_ = _Sorted()
    lines, after_blank = _joined([BRACKETED.sub(r"\1:", line.strip()) for line in text.splitlines()])
    if sum(line.startswith("-") and not line.startswith("- ") for line in lines) * 2 > len(lines) > 2:
        lines = [line.removeprefix("-") for line in lines]
    sorted_.amounts = any(_ingredient(line) for line in lines)
    for index, line in enumerate(lines):
        sorted_.after_blank = after_blank[index]
        if any(letter.isalnum() for letter in line) or any(mark in line for mark in "?"):
            _place(line, lines[index + 1] if index + 1 < len(lines) else "", sorted_)
    return _recipe(sorted_)


def _joined(lines: list[str]) -> tuple[list[str], list[bool]]:
    """Join a line to the one before where a bracket is open, or a sentence goes on in small letters.

    Return the lines that say something, and for each whether an empty line stands before it.
    """
    found: list[str] = []
    for line in lines:
        last = found[-1] if found else ""
        opened = last.count("(") > last.count(")") and ")" in line and "(" not in line.split(")")[0]
        if line and last and len(last) < LONGEST and (opened or _goes_on(last, line)):
            found[-1] = f"{last} {line}"
        else:
            found.append(line)
    spoken = [place for place, line in enumerate(found) if line]
    return [found[place] for place in spoken], [place > 0 and not found[place - 1] for place in spoken]


def _goes_on(last: str, line: str) -> bool:
    """Whether a line in small letters carries on the sentence of the line before."""
    if not line[0].islower() or last[-1] in ".!?:;" or line.split()[0].lower() in NUMBERS:
        return False
    open_end = last.split()[-1].lower() in ("and", "or", "the", "with", "in", "until", "to", "a", "of")
    step = is_step(tokens_of(plain(last)))
    return (open_end and (step or not _ingredient(line))) or (len(last) > 45 and (step or len(last.split()) > 9))


def _recipe(sorted_: _Sorted) -> ReadRecipe:
    parts = tuple(ReadPart(name, tuple(lines)) for name, lines in sorted_.parts if lines)
    used = {part.name for part in parts} | {part for part, _ in sorted_.method}
    empty = [name for name in dict.fromkeys(sorted_.opened) if name and name not in used]
    notes = [*sorted_.notes, *empty]
    if not parts:
        notes.append("No ingredient line was found: write one ingredient per line, the amount first (2 cups flour).")
    told = {part for part, _ in sorted_.method}
    if len(parts) > 1 and told == {parts[-1].name}:  # steps behind the last part are those of the whole
        sorted_.method = [("", step) for _, step in sorted_.method]
    return ReadRecipe(sorted_.name, parts, tuple(sorted_.unread), _steps(sorted_.method), sorted_.makes,
                      "; ".join(sorted_.credit), tuple(notes))  # fmt: skip


def _steps(method: list[tuple[str, str]]) -> tuple[Step, ...]:
    """Return the steps; a part told in one paragraph is cut into its sentences."""
    count: dict[str, int] = {}
    for part, _ in method:
        count[part] = count.get(part, 0) + 1
    found: list[Step] = []
    for part, text in method:
        pieces = sentences(text) if count[part] == 1 else [text]
        found.extend(step_of(piece, part) for piece in pieces)
    return tuple(found)


def _bare(line: str) -> str:
    return line.strip(" #*_:=-•\t").strip()


def _place(line: str, following: str, sorted_: _Sorted) -> None:
    """Put one line where it belongs."""
    if sorted_.mode == "method" and STEP_NUMBER.fullmatch(_bare(line)):
        return
    if _headed(line, sorted_) or _about_recipe(line, sorted_):
        return
    if sorted_.mode == "notes":
        sorted_.notes.append(line)
        return
    titled = sorted_.amounts or line[:1].isupper()
    if titled and not sorted_.name and sorted_.mode == "top" and not sorted_.parts and _may_be_name(line):
        _name(line, sorted_)
        return
    if _is_heading(line, following, sorted_):
        sorted_.open_part(line)
        return
    if _labelled_list(line, sorted_):
        return
    numbered = NUMBERED.match(line)
    bare = line[numbered.end() :] if numbered and sorted_.mode == "method" else line
    if sorted_.mode == "method" and (numbered or not _ingredient(line)):
        _to_method(bare, sorted_)
        return
    if numbered and is_step(tokens_of(plain(line[numbered.end() :]))):
        sorted_.mode = "method"
        _to_method(line[numbered.end() :], sorted_)
    elif _prose(line):
        if sorted_.mode == "top" and not sorted_.parts and not is_step(tokens_of(plain(line[:LONGEST]))):
            sorted_.notes.append(line)
        else:
            sorted_.mode = "method"
            _to_method(line, sorted_)
    else:
        _to_ingredients(line, sorted_)


def _headed(line: str, sorted_: _Sorted) -> bool:
    """Take a structural heading (Ingredients, Method, Notes), and what stands behind its colon."""
    bare = _bare(line)
    head, colon, rest = bare.partition(":")
    head = head.strip(" *_").rstrip()
    whole = re.sub(r"\([^()]*\)", "", head).strip()
    given_for = INGREDIENTS_FOR.fullmatch(whole)
    if given_for and not rest.strip():
        sorted_.mode = "ingredients"
        sorted_.open_part(given_for[1])
        return True
    for mode, pattern in HEADINGS:
        if not pattern.fullmatch(whole):
            continue
        sorted_.mode = mode
        sorted_.part = ""
        inside = re.search(r"\(([^()]*)\)", head)
        if inside and not _about_recipe(inside[1], sorted_):
            sorted_.notes.append(inside[1])
        rest = rest.strip(" *_")
        if colon and rest:
            if mode == "notes":
                sorted_.notes.append(rest)
            else:
                _place(rest, "", sorted_)
        return True
    return False


def _about_recipe(line: str, sorted_: _Sorted) -> bool:
    """Take yield, times and credit."""
    bare = _bare(line)
    if len(bare.split()) > 14:
        return False
    if (
        not sorted_.parts or sorted_.mode != "ingredients" or ":" in bare or not _ingredient(bare)
    ) and sorted_.makes is None:
        makes = yield_of(bare)
        if makes is not None:
            sorted_.makes = replace(makes, text=line)
            return True
    if TIMES.match(bare):
        sorted_.notes.append(line)
        return True
    if sorted_.mode != "method" and CREDIT.match(bare):
        sorted_.credit.append(bare)
        return True
    return False


def _may_be_name(line: str) -> bool:
    words = line.split()
    ends = line.rstrip().endswith((":", "."))
    listed = ";" in line or re.match(r"[\w ]{1,30}:\s*\S*\d", line)
    return not (len(words) > 14 or ends or listed or _ingredient(line) or is_step(tokens_of(plain(line))))


def _name(line: str, sorted_: _Sorted) -> None:
    bare = _bare(line)
    bracket = re.search(r"\(([^()]*)\)\s*$", bare)
    if bracket and CREDITED.search(bracket[1]):
        sorted_.credit.append(bracket[1].strip())
        bare = bare[: bracket.start()].strip()
    sorted_.name = bare


def _ingredient(line: str) -> bool:
    """Whether a line begins with an amount and reads as an ingredient."""
    if len(line) > LONGEST:
        return False
    read = _read(line)
    return bool(read.amounts) and not _sentence(line)


def _sentence(line: str) -> bool:
    pieces = sentences(line)
    words = len(line.split())
    return words > 40 or (len(pieces) > 1 and words > 12 and any(is_step(tokens_of(plain(piece))) for piece in pieces))


def _prose(line: str) -> bool:
    """Whether a line without a heading reads as prose or as a step rather than as an ingredient."""
    if is_step(tokens_of(plain(line))):
        return True
    words = len(line.split())
    if _sentence(line) and not (words <= 60 and ";" in line):
        return True
    read = _read(line)
    if read.amounts:
        return False
    return words > 14 or (words > 6 and line.rstrip().endswith((".", "!")))


def _is_heading(line: str, following: str, sorted_: _Sorted) -> bool:
    """Whether a line names a part: a colon at its end, marks of a heading, "For the ...", or a part's usual name."""
    bare = _bare(line)
    words = bare.split()
    if not words or len(words) > 7 or bare[0].isdigit() or bare[-1] in ".!?," or line.startswith(("- ", "• ")):
        return False
    if line.rstrip(" *_").endswith(":") or line.startswith("#") or (line.startswith("**") and line.endswith("**")):
        return not _read(bare).amounts
    lowered = [word.lower().strip("():,") for word in words]
    if lowered[0] == "for" and len(words) > 1 and lowered[1] in ("the", "a", "each") and len(words) <= 5:
        return True
    if sorted_.mode == "method" and not line.isupper():
        return False
    if len(words) <= 4 and line.isupper() and len(bare) > 3 and not _read(bare).amounts:
        return True
    next_read = _read(following) if following else None
    alone = sorted_.after_blank and len(words) <= 3 and bare[0].isupper() and not knows(bare)
    if alone and next_read is not None and next_read.amounts:
        return True
    if len(words) <= 3 and lowered[-1] in COMPONENTS and next_read is not None and next_read.amounts:
        return not (lowered[-1] in FOODS_TOO and len(words) > 1)
    return False


def _labelled_list(line: str, sorted_: _Sorted) -> bool:
    """Read "Filling: 1 lb dates; 3/4 cup water. Simmer till thick": a part, its lines and its method in one line."""
    label, colon, rest = line.partition(":")
    if not colon or len(label.split()) > 5 or label[:1].isdigit() or not rest.strip():
        return False
    pieces = sentences(rest.strip())
    first = read_several(pieces[0])
    if len(pieces[0]) > LONGEST or not first or not first[0].amounts or (len(first) == 1 and ";" not in pieces[0]):
        return False
    if first[0].item == "" or is_step(tokens_of(plain(pieces[0]))):
        return False
    sorted_.mode = "ingredients"
    sorted_.open_part(label)
    rest_of = 1
    _list(pieces[0], sorted_)
    for piece in pieces[1:]:
        if not _ingredient(piece) or is_step(tokens_of(plain(piece))) or _only_a_time(piece):
            break
        _list(piece, sorted_)
        rest_of += 1
    for piece in pieces[rest_of:]:
        if not _about_recipe(piece, sorted_):
            sorted_.method.append((sorted_.part, piece))
    sorted_.part = ""
    return True


def _only_a_time(piece: str) -> bool:
    return step_of(piece).minutes_low is not None


def _list(text: str, sorted_: _Sorted) -> None:
    text = text.rstrip(" .;")
    if ";" in text:
        sorted_.add(*(_read(each.strip()) for each in text.split(";") if each.strip()))
    else:
        sorted_.add(*(read_several(text) or [_read(text)]))


def _to_ingredients(line: str, sorted_: _Sorted) -> None:
    if len(line) > LONGEST or not any(letter.isalnum() for letter in line):
        sorted_.unread.append(line)
        return
    before_all = sorted_.mode == "top" and not sorted_.parts and sorted_.amounts
    if before_all and not _read(line).amounts and not knows(_bare(line)):
        sorted_.notes.append(line)
        return
    sorted_.mode = "ingredients"
    several = read_several(line)
    if len(several) >= 4:
        sorted_.add(*several)
    else:
        sorted_.add(_read(line))


def _to_method(line: str, sorted_: _Sorted) -> None:
    """Add a step; a yield at its end is taken off."""
    pieces = sentences(line)
    if len(pieces) > 1 and sorted_.makes is None and len(pieces[-1].split()) <= 8:
        makes = yield_of(pieces[-1])
        if makes is not None:
            sorted_.makes = makes
            line = line[: line.rindex(pieces[-1])].strip()
    sorted_.method.append((sorted_.part, line))


def _from_page(page: Page) -> ReadRecipe:
    """Return a recipe from the fields of a page."""
    sorted_ = _Sorted(name=page.name, mode="ingredients")
    for line in page.ingredients:
        if _is_heading(line, "", sorted_):
            sorted_.open_part(line)
        elif line.strip():
            sorted_.add(_read(line.strip()))
    for part, text in page.method:
        if text.strip():
            sorted_.method.append((part, text.strip()))
    makes = None
    if page.makes:
        makes = yield_of(page.makes) or yield_of(f"Makes {page.makes}")
        makes = Yield(page.makes) if makes is None else replace(makes, text=page.makes)
    sorted_.makes = makes
    sorted_.credit = [page.credit] if page.credit else []
    sorted_.notes = list(page.notes)
    return _recipe(sorted_)
