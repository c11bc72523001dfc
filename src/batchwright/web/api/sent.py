"""What programs send: thin models of the documents, so that what no page could show is never kept."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import Path
from pydantic import AfterValidator, BaseModel, ConfigDict, Field, JsonValue

MOST_NUMBER = 999_999_999  # nine digits: any database takes them
DEEPEST = 12  # tables within tables of a document; the deepest of ours is 5
LONGEST_TEXT = 1_000_000  # characters

Number = Annotated[int, Path(ge=1, le=MOST_NUMBER)]
Text = Annotated[str, Field(max_length=LONGEST_TEXT)]
Name = Annotated[str, Field(max_length=200)]
Words = Annotated[list[Annotated[str, Field(max_length=500)]], Field(max_length=100)]
Scalar = str | int | float | bool | None
Figures = Scalar | list[Scalar]


def _shallow(value: Any) -> Any:
    level = [value]
    for _ in range(DEEPEST):
        level = [inner for each in level if isinstance(each, (dict, list))
                 for inner in (each.values() if isinstance(each, dict) else each)]  # fmt: skip
        if not level:
            return value
    raise ValueError(f"at most {DEEPEST} tables within one another")


Document = Annotated[dict[str, JsonValue], AfterValidator(_shallow)]


class Sent(BaseModel):
    """A body; keys it does not know are named as faults."""

    model_config = ConfigDict(extra="forbid")


class LabelTable(BaseModel):
    """The label's own words."""

    model_config = ConfigDict(extra="allow")
    text: Text = ""


class TeardownTable(BaseModel):
    """Weighed pieces, parts, sizes and readings; beside `parts_g` each key holds one figure or several."""

    model_config = ConfigDict(extra="allow")
    __pydantic_extra__: dict[str, Figures] = Field(init=False)
    parts_g: dict[str, Figures] = {}


class OriginalDocument(Sent):
    """An original: the tables of a label file, every one optional (docs/reference/label-file.md)."""

    food: dict[str, Scalar] = {}
    label: LabelTable = LabelTable()
    panel: dict[str, Scalar] = {}
    panels: Annotated[list[dict[str, Scalar]], Field(max_length=4)] = []
    teardown: TeardownTable = TeardownTable()
    match: dict[str, str] = {}
    know: Document = {}
    ingredients: Document = {}
    measured: Document = {}
    pictures: list[int] = []
    notes: Text = ""


class BriefDocument(Sent):
    """What the rebuild is for."""

    deadline: Name = ""
    must: Words = []
    nice: Words = []
    drop: Words = []
    notes: Text = ""


class SavedAs(Sent):
    """How a document is saved: over which revision, and under which key a save that may be sent twice."""

    parent: Annotated[int, Field(ge=1, le=MOST_NUMBER)] | None = None
    key: Annotated[str, Field(max_length=100)] = ""


class SaveOriginal(SavedAs):
    """An original to be kept as the next revision."""

    document: OriginalDocument


class SaveBrief(SavedAs):
    """A brief to be kept as the next revision."""

    document: BriefDocument


class SaveFormula(SavedAs):
    """A formula to be kept as the next version: what `GET` gives, or what any command prints as a formula."""

    document: Document


class SaveAmounts(SavedAs):
    """Amounts set by hand, by the line's place among all lines [g], and the lines that stay."""

    amounts: dict[Annotated[int, Field(ge=0, le=9999)], Annotated[float, Field(ge=0, le=1_000_000)]] = {}
    locked: list[Annotated[int, Field(ge=0, le=9999)]] = []


class NewRebuild(Sent):
    """A rebuild to begin: whatever is at hand of its packet, and a name if it has one."""

    pasted: Text = ""
    name: Name = ""


class ChangeRebuild(Sent):
    """A rebuild's new name, or whether it is set aside."""

    name: Name | None = None
    set_aside: bool | None = None


class Question(Sent):
    """An original to be decoded and kept nowhere. mix: "300g-flour" or "40-pieces"."""

    document: OriginalDocument
    mix: Name = ""


class Recipe(Sent):
    """A recipe in any form: pasted text, a saved page, JSON. convention: whose cup, empty for as the recipe shows."""

    text: Text
    convention: Name = ""


class Lines(Recipe):
    """A text to be weighed: as one recipe, or line by line (`lines`)."""

    lines: bool = False


class Label(Sent):
    """A label's text, to be read."""

    text: Text


class NewFormula(Recipe):
    """A recipe to be taken into a rebuild."""

    name: Name = ""


class FitAsked(Sent):
    """How a formula is fitted: toward the original, or less sweet by so many percent with the same body."""

    less_sweet_percent: Annotated[float, Field(ge=0, le=90)] = 0.0
    on_hand: Annotated[str, Field(max_length=5000)] = ""
    own_only: bool = False


class Settle(Sent):
    """Which of several newest revisions goes on."""

    keep: Annotated[int, Field(ge=1, le=MOST_NUMBER)]
