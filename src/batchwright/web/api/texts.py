"""API: texts read and weighed, kept nowhere; and the shelf."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Query, Request
from fastapi.responses import Response

from batchwright.actions.formula import weigh_lines, weigh_text
from batchwright.actions.pantry import find_ingredients
from batchwright.actions.read import read_label
from batchwright.web.api.kept import WORKING, answered, document_of
from batchwright.web.api.sent import Label, Lines, Question

router = APIRouter(tags=["texts"])


@router.post("/read", response_model=None)
def read(sent: Label) -> dict[str, Any]:
    """Return a label's text as a tree, with its panels and what was mended, as `read --json` prints it."""
    return read_label(sent.text).to_json()


@router.post("/weigh", response_model=None)
def weigh(sent: Lines) -> dict[str, Any]:
    """Return a recipe, or each line by itself, in grams, as `weigh --json` prints it."""
    if sent.lines:
        return {"lines": [line.to_json() for line in weigh_lines(sent.text, sent.convention)]}
    return weigh_text(sent.text, sent.convention).to_json()


@router.post("/decode", response_model=None, responses={WORKING: {"description": "Ask again."}})
def decode(request: Request, sent: Question) -> Response:
    """Return what a food is made of from the tables of a label file, as `decode --json` prints it."""
    return answered(request, document_of(sent.document), sent.mix)


@router.get("/pantry", response_model=None)
def pantry(find: str = Query(max_length=200)) -> dict[str, Any]:
    """Return what the shelf has by a name, as `pantry find --json` prints it."""
    return find_ingredients(find).to_json()
