"""The decoded answer of an original in the book: worked out once, kept under the digest of what it rests on."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from typing import Any

from batchwright import __version__
from batchwright.actions.bench import band_to_json
from batchwright.actions.compare import band_of
from batchwright.actions.original import decode_label
from batchwright.actions.original_words import is_set_trace, pin_words, sentence
from batchwright.original.label_file import label_from_mapping
from batchwright.store.book import Book

OWN_KEYS = ("food", "label", "panel", "panels", "teardown", "match", "know", "ingredients", "measured")


@cache
def tables_digest() -> str:
    """Return the SHA-256 of every data table, so that an answer from older figures is never taken for today's."""
    found = hashlib.sha256()
    data = files("batchwright") / "data"
    for each in sorted(data.iterdir(), key=lambda entry: entry.name):
        if each.name.endswith((".csv", ".npz", ".json", ".toml")):
            found.update(each.name.encode() + b"\0" + each.read_bytes())
    return found.hexdigest()


def answer_digest(document: Mapping[str, Any], mix: str = "") -> str:
    """Return the digest an answer is kept under: the document's own tables, the mix, the program and its figures.

    document: an original as the book keeps it; what does not change the answer (pictures) is left out of it.
    """
    own = {key: document[key] for key in OWN_KEYS if document.get(key)}
    plain = json.dumps([own, mix, __version__, tables_digest()], sort_keys=True, ensure_ascii=False)
    return hashlib.sha256(plain.encode()).hexdigest()


def worked_out(document: Mapping[str, Any], mix: str = "") -> dict[str, Any]:
    """Return the decoded answer of an original with its words; what the pages show and the book keeps.

    document: an original as the book keeps it. mix: "300g-flour" or "40-pieces". The result holds `answer` (as
    `Answer.to_json`), `band` (what recipes are held against), `sentence`, and for each ingredient in order `pins` (what
    holds its ends, in words) and `trace` (set by a standard). Raises InputError with every fault of the document.
    """
    answer = decode_label(label_from_mapping({key: document[key] for key in OWN_KEYS if key in document}), mix)
    return {
        "answer": answer.to_json(),
        "band": band_to_json(band_of(answer)),
        "sentence": sentence(answer),
        "pins": [pin_words(share, False) for share in answer.ingredients],
        "trace": [is_set_trace(share) for share in answer.ingredients],
    }


class AnswerDesk:
    """Answers for the pages: from the book where they are kept, else worked out and kept."""

    def __init__(self, book: Book) -> None:
        self.book = book

    def of(self, document: Mapping[str, Any], mix: str = "") -> dict[str, Any]:
        """Return the answer of an original; raises InputError with every fault of the document."""
        digest = answer_digest(document, mix)
        kept = self.book.kept_answer(digest)
        if kept is None:
            kept = worked_out(document, mix)
            self.book.keep_answer(digest, __version__, kept)
        return kept
