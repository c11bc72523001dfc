"""What every command does with the terminal: take a text from a file or a pipe, print JSON."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

from batchwright.base.errors import Fault, InputError

LARGEST_TEXT_MB = 4


def given_text(name: str) -> str:
    """Return the text of the file `name`, or of standard input for `-`.

    UTF-8 is expected; a file that is not gets read as Windows-1252, the other thing that label texts come in.
    Raises InputError where there is no such file, it is a folder, it holds no text or is larger than 4 MB.
    """
    try:
        octets = sys.stdin.buffer.read() if name == "-" else Path(name).read_bytes()
    except OSError as error:
        reason = (error.strerror or "cannot be read").lower()
        raise InputError([Fault("FILE", name, "a text file, or - for standard input", sentence(reason))]) from error
    if len(octets) > LARGEST_TEXT_MB * 1_000_000:
        raise InputError([Fault("FILE", name, f"at most {LARGEST_TEXT_MB} MB of text", "Give one label at a time.")])
    if b"\0" in octets:
        raise InputError([Fault("FILE", name, "a text file", "This one holds pictures or program code.")])
    try:
        return octets.decode("utf-8-sig")
    except UnicodeDecodeError:
        return octets.decode("cp1252", errors="replace")


def sentence(words: str) -> str:
    """Return the words with a capital and a full stop."""
    return words[:1].upper() + words[1:] + "."


def print_json(document: Any) -> None:
    """Print a document as indented JSON; letters a terminal cannot show are escaped."""
    print(json.dumps(document, ensure_ascii=not speaks_unicode(), indent=2, allow_nan=False))


def speaks_unicode() -> bool:
    """Whether standard output takes any letter."""
    return (sys.stdout.encoding or "").lower().replace("-", "").startswith("utf")
