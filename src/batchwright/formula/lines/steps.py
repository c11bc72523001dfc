"""What tells a step of the method from an ingredient line."""

from __future__ import annotations

from collections.abc import Sequence

from batchwright.formula.lines.tokens import Token
from batchwright.formula.lines.words import word_set

_VERBS = word_set("""
preheat heat beat mix stir bake add combine roll chill fold knead pour whisk sift blend boil simmer cook cool freeze
refrigerate remove place put set let leave allow make prepare press drop shape form divide turn transfer bring return
reduce repeat gradually gently meanwhile when once if using in on with while after before then next arrange cover
uncover invert unmold unmould store serve sandwich assemble fill pipe melt soften toast roast grind chop slice grate
peel drain rinse strain scrape line work rub process pulse discard dissolve soak warm microwave stack stamp rest wrap
unwrap test check continue increase lower take tip turn wait do have dip drizzle sprinkle scatter stretch cut check
proof prove rise punch flatten prick brush spoon spread toss moisten scald separate reserve measure weigh to keep
enjoy garnish decorate finish grease butter flour cream dust top season frost ice glaze coat whip crumble dot
""")
"""Words a step begins with."""
_NOUNS_TOO = word_set("""
butter flour cream dust top ice glaze coat frost toast roast whip season cut line drizzle cover heat mix blend spread
cook in on with to drop store sandwich press dip punch rest rise cool grind finish crumble warm set if lower melt
sprinkle brush when spoon peel garnish stock roll stack chop cover turn test process boil
""")
"""Words of the first list that may begin an ingredient as well (butter, cream, mix): a step only if more shows it."""
_SHOWS_STEP = word_set("""
the and until then it in into together with for minutes minute min mins hour hours oven over to well dough batter
mixture at degrees on a pan evenly f c thick
""")

_NAMES_FOOD = word_set("for to or of sugar cheese oil fat soda sauce cream milk")
"""Words that after a food's name say that it is one (butter for the pan, cream of tartar)."""

_LONE_FOODS = word_set("butter flour cream ice dust icing garnish stock chop roll toast roast")
"""Words of the first list that name a food even where they stand alone before a full stop."""
_ONLY_VERBS = _VERBS - _NOUNS_TOO - word_set("to in on while after before then of place")


def is_step(tokens: Sequence[Token]) -> bool:
    """Whether the words read like an order to the cook (beat the eggs until pale), not like an ingredient."""
    words = [token.lower for token in tokens if token.kind == "w"]
    if len(words) < 2 or words[0] not in _VERBS:
        order = _VERBS - (_LONE_FOODS if tokens and tokens[-1].text == "." else _NOUNS_TOO)
        return len(words) == 1 and words[0] in order
    if words[0] not in _NOUNS_TOO:
        return True
    if "size" in words[2:3] or words[1] in _NAMES_FOOD:
        return False
    shows = sum(word in _SHOWS_STEP or word in _ONLY_VERBS for word in words[1:])
    if shows and tokens[-1].text == ".":
        return True
    return shows >= 2 or (shows == 1 and len(words) >= 4)
