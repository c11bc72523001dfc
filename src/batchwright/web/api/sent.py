"""What programs send: thin models around the documents, so that what no page could show is never kept."""

from __future__ import annotations

from typing import Annotated

from fastapi import Path
from pydantic import Field

from batchwright.actions.documents import BriefDocument, Document, Name, OriginalDocument, Sent, Text

MOST_NUMBER = 999_999_999  # nine digits: any database takes them

Number = Annotated[int, Path(ge=1, le=MOST_NUMBER)]


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

    amounts: dict[Annotated[int, Field(ge=0, le=9999)], Annotated[float, Field(ge=0, le=1_000_000)]] = Field({})
    locked: list[Annotated[int, Field(ge=0, le=9999)]] = Field([])


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
    """Which of several newest revisions goes on. seen: those its chooser saw; one saved since then stays beside."""

    keep: Annotated[int, Field(ge=1, le=MOST_NUMBER)]
    seen: Annotated[list[Annotated[int, Field(ge=1, le=MOST_NUMBER)]], Field(max_length=1000)] | None = None
