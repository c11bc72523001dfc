"""How a food lies in the cup: the forms that change what a cup of it weighs, read from words."""

from __future__ import annotations

from collections.abc import Iterable

_WORDS = {
    "chopped": "chopped diced cubed minced pieces chunks cubes coarse-chopped broken torn",
    "sliced": "sliced flaked shaved slices strips julienned ringed rings",
    "slivered": "slivered slivers",
    "grated": "grated shredded",
    "ground": "ground powdered pulverized pulverised",
    "mashed": "mashed pureed puréed purée puree blended processed",
    "melted": "melted",
    "whipped": "whipped",
    "sifted": "sifted",
    "packed": "packed",
    "spooned": "spooned",
    "scooped": "scooped",
    "cooked": "cooked boiled steamed leftover",
    "dried": "dried dry",
    "canned": "canned tinned",
    "fresh": "fresh soft",
    "crumbled": "crumbled",
    "crushed": "crushed crumbs",
    "halves": "halves halved",
    "whole": "whole",
}  # fmt: skip
FORM_OF = {word: form for form, words in _WORDS.items() for word in words.split()}
UNLIKE = frozenset({"unsifted", "uncooked", "unpacked"})


def forms_in(words: Iterable[str]) -> tuple[str, ...]:
    """Return the forms that words name, in their order, each once."""
    return tuple(dict.fromkeys(FORM_OF[word] for word in words if word in FORM_OF))
