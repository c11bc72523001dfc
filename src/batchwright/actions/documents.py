"""The documents of a rebuild as programs and files hand them over, field by field: what no page could show is none."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, JsonValue, ValidationError

from batchwright.actions.bench import checked_document
from batchwright.base.errors import Fault, InputError

DEEPEST = 12  # tables within tables of a document; the deepest of ours is 5
LONGEST_TEXT = 1_000_000  # characters
LARGEST = 10**12  # no figure on a label comes near

Text = Annotated[str, Field(max_length=LONGEST_TEXT)]
Name = Annotated[str, Field(max_length=200)]
Words = Annotated[list[Annotated[str, Field(max_length=500)]], Field(max_length=100)]
Figure = Annotated[int, Field(ge=-LARGEST, le=LARGEST)] | Annotated[float, Field(ge=-LARGEST, le=LARGEST)]
Scalar = str | bool | Figure | None
Figures = Scalar | list[Scalar]


def _usual(value: Any) -> Any:
    """Return a table that is not too deep and holds no figure too large."""
    level = [value]
    for _ in range(DEEPEST):
        if any(isinstance(each, (int, float)) and not abs(each) <= LARGEST for each in level):
            raise ValueError(f"figures up to {LARGEST:.0e}")
        level = [inner for each in level if isinstance(each, (dict, list))
                 for inner in (each.values() if isinstance(each, dict) else each)]  # fmt: skip
        if not level:
            return value
    raise ValueError(f"at most {DEEPEST} tables within one another")


Document = Annotated[dict[str, JsonValue], AfterValidator(_usual)]


class Sent(BaseModel):
    """A body; keys it does not know are named as faults."""

    model_config = ConfigDict(extra="forbid")


class LabelTable(BaseModel):
    """The label's own words."""

    model_config = ConfigDict(extra="allow")
    text: Text = ""
    as_printed: Words = []


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
    pictures_removed: Words = []
    notes: Text = ""


class BriefDocument(Sent):
    """What the rebuild is for."""

    deadline: Name = ""
    must: Words = []
    nice: Words = []
    drop: Words = []
    notes: Text = ""


def check_kept(kind: str, document: Mapping[str, Any]) -> None:
    """Raise InputError, every fault under its field, for a document that is none of its kind ("brief", "formula" ...).

    document: as a book keeps it. What passes can be shown on every page; whether an answer comes of it is another
    matter, for which the pages have words.
    """
    if kind == "formula":
        checked_document(document)
        return
    asked = BriefDocument if kind == "brief" else OriginalDocument
    try:
        asked.model_validate(document, strict=True)
    except ValidationError as error:
        raise InputError([Fault(".".join(map(str, each["loc"])), each.get("input"), str(each["msg"]))
                          for each in error.errors()]) from error  # fmt: skip
