"""Which food is meant where a line leaves a choice open."""

from __future__ import annotations

from batchwright.formula.lines.words import DESCRIBING, word_set

_SHARED = word_set("""
oil oils flour sugar milk cheese cream extract vinegar chocolate syrup yogurt yoghurt butter starch juice liqueur
""")
"""Nouns that both sides of "or" may share: vegetable or olive oil."""
_ALONE = word_set(
    "butter margarine water milk honey lard shortening cream molasses ricotta mascarpone jaggery yeast half-and-half"
)
"""Foods that share no noun with the other side: butter or olive oil."""


def first_choice(item: str) -> str:
    """Return the first of what "or" leaves open: "vegetable or olive oil" gives "vegetable oil".

    Use it where an ingredient must be one food. item: as `ReadLine.item` gives it. Without "or" it comes back as it is.
    """
    words = item.split()
    lowered = [word.lower().strip(",") for word in words]
    if "or" not in lowered[1:-1]:
        return item
    place = lowered.index("or", 1)
    first = " ".join(words[:place]).split(",")[0].strip()
    later = words[place + 1 :]
    first_words = first.lower().split()
    if all(word in DESCRIBING for word in first_words):
        if len(later) > 1 and later[0].lower() in DESCRIBING:
            return f"{first} {' '.join(later[1:])}"
        if len(later) > 1 and later[-1].lower() in _SHARED:
            return f"{first} {later[-1]}"
        return first if later[0].lower() in _ALONE else f"{first} {' '.join(later)}"
    shared = later[-1].lower() in _SHARED and len(later) > 1
    kind = (len(first_words) == 1 and not first.endswith("s")) or first_words[-1] in DESCRIBING
    alone = first.lower() in _ALONE or later[-1].lower().rstrip("s") in first.lower()
    return f"{first} {later[-1]}" if shared and kind and not alone else first
