"""Words of a printed name: how they are cleaned, brought to one spelling and weighed."""

from __future__ import annotations

import html
import re
import unicodedata
from functools import cache, lru_cache

from batchwright.base.tables import rows


def word_set(text: str) -> frozenset[str]:
    """Return the words of a text as a set; for short lists of words that stand beside the code using them."""
    return frozenset(text.split())


MOST_CHARACTERS = 400
"""Longest printed name that is read; what stands beyond it is no name of one ingredient."""

_UK_US = {
    "flavour": "flavor", "flavouring": "flavor", "flavoring": "flavor", "flavours": "flavor", "flavoured": "flavored",
    "colour": "color", "colouring": "color", "coloring": "color", "coloured": "colored", "colors": "color",
    "yoghurt": "yogurt", "yoghourt": "yogurt", "soya": "soy", "soja": "soy", "maize": "corn", "fibre": "fiber",
    "aluminium": "aluminum", "skimmed": "skim", "glycerine": "glycerin", "thiamine": "thiamin",
    "gelatine": "gelatin", "chilli": "chili", "chillies": "chili", "chile": "chili", "chilies": "chili",
    "chiles": "chili", "chilly": "chili", "sulphur": "sulfur", "sulphured": "sulfured", "odour": "odor",
    "stabiliser": "stabilizer", "stabilisers": "stabilizer", "purée": "puree", "purées": "puree", "lowfat": "low fat",
    "nonfat": "nonfat", "fatfree": "nonfat", "wholegrain": "whole grain", "wholewheat": "whole wheat",
    "wholemeal": "whole wheat", "milkfat": "milk fat", "butterfat": "butter fat", "cornstarch": "corn starch",
    "cottonseed": "cottonseed", "centre": "center", "tumeric": "turmeric", "organics": "organic",
    "desiccated": "desiccated", "dessicated": "desiccated", "liquorice": "licorice", "treacles": "treacle",
    "sulphurous": "sulfurous", "mould": "mold", "cheeses": "cheese", "doughnut": "donut", "cornmeal": "corn meal",
    "semisweet": "semi sweet", "hydrolysate": "hydrolysate", "sundried": "sun dried", "feuilletine": "feuilletine",
    "breadcrumb": "breadcrumb", "soyabean": "soybean", "soyabeans": "soybean", "sugarcane": "sugar cane",
    "buttermilk": "buttermilk", "unsulphured": "unsulfured",
    "011": "oil", "0il": "oil", "oi1": "oil", "oll": "oil", "oii": "oil", "cil": "oil", "oi": "oil",
    "acld": "acid", "aeid": "acid", "sait": "salt", "salf": "salt", "saft": "salt",
    "carmel": "caramel", "whisky": "whiskey",
}
_SAME = word_set("molasses couscous hummus asparagus citrus swiss brussels grass press hibiscus schnapps gas gross "
                  "lens series species dross access eucalyptus cactus octopus fos imo mcts brass class less")
_IRREGULAR = {"leaves": "leaf", "halves": "half", "loaves": "loaf", "cookies": "cookie", "brownies": "brownie",
              "pies": "pie", "candies": "candy", "calories": "calorie", "smoothies": "smoothie", "olives": "olive",
              "chives": "chive", "cloves": "clove", "cheeses": "cheese", "potatoe": "potato", "tomatoe": "tomato",
              "knives": "knife", "endives": "endive", "geese": "goose", "bacteria": "bacterium", "shoes": "shoe",
              "enzymes": "enzyme", "spices": "spice", "juices": "juice", "slices": "slice", "pieces": "piece",
              "lettuces": "lettuce", "sauces": "sauce", "purees": "puree", "dates": "date", "limes": "lime",
              "grapes": "grape", "dice": "dice", "mangoes": "mango", "vanillas": "vanilla", "collards": "collard"}
_ENTITY = re.compile(r"&[a-zA-Z]{2,8};|&#\d{2,5};")
_DYE = re.compile(r"\bf\.? ?d\.? ?(?:&|and|\+)? ?c\.?(?: ?(?:&|and))?\b\.?|\bd ?& ?c\b")
_NUMBER_SIGN = re.compile(r"\bno(?:\.\s*|\s+)(?=\d)|#\s*|№\s*|\bn°\s*")
_PERCENT = re.compile(r"(?:[<>~]\s*)?\d{1,3}(?:[.,]\d{1,3})?\s?%")
_WORD = re.compile(r"[^\W_]+")
_SPLIT_NUMBER = re.compile(r"\b(red|blue|yellow|green)(\d{1,2})\b")


def plain(text: str) -> str:
    """Return the printed name in lower case without accents, marks, percentages and signs; words parted by one blank.

    Everything that is a letter or a digit stays; only the first MOST_CHARACTERS characters are read.
    """
    text = text[:MOST_CHARACTERS]
    if "&" in text and ";" in text:
        text = _ENTITY.sub(lambda hit: html.unescape(hit.group()), text)
    if not text.isascii():
        text = unicodedata.normalize("NFKD", text)
        text = "".join(letter for letter in text if not unicodedata.combining(letter))
        text = text.replace("’", "'").replace("‘", "'").replace("`", "'").replace("ß", "ss")
    text = text.lower()
    if "c" in text and "d" in text:
        text = _DYE.sub(" ", text)
    if "%" in text:
        text = _PERCENT.sub(" ", text)
    text = _NUMBER_SIGN.sub(" ", text)
    text = text.replace("'", "").replace("&", " and ").replace("°", "")
    text = _SPLIT_NUMBER.sub(r"\1 \2", text)
    return " ".join(_WORD.findall(text))


@lru_cache(maxsize=20_000)
def one_word(word: str) -> str:
    """Return one plain word in the singular and in the spelling the tables use (US); may give two words."""
    known = _UK_US.get(word)
    if known is not None:
        return known
    if "sulph" in word:
        word = word.replace("sulph", "sulf")
    if word in _IRREGULAR:
        word = _IRREGULAR[word]
    elif len(word) > 3 and word.endswith("s") and word not in _SAME:
        word = _singular(word)
    for british, american in (("isation", "ization"), ("ised", "ized"), ("ysed", "yzed"), ("isate", "izate")):
        if len(word) > 6 and word.endswith(british) and word not in ("raised", "praised"):
            word = word[: -len(british)] + american
            break
    return _UK_US.get(word, word)


def _singular(word: str) -> str:
    if word.endswith(("ss", "us", "is")):
        return word
    if word.endswith("ies") and len(word) > 4:
        return word[:-3] + "y"
    if word.endswith("oes") and len(word) > 4:
        return word[:-2]
    if word.endswith(("sses", "xes", "ches", "shes", "zzes")):
        return word[:-2]
    return word[:-1]


def canonical(text: str) -> str:
    """Return the key under which the shelf keeps a name: plain words, singular, one spelling; "" if nothing is left."""
    return " ".join(words_of(text))


_SIMPLE = re.compile(r"[a-z ,\-]{1,120}")


class _Words(dict[str, str]):
    """Plain word -> canonical word or words, filled as they come: start-up reads thousands of names."""

    def __missing__(self, word: str) -> str:
        better = one_word(word)
        if len(self) < 20_000:
            self[word] = better
        return better


_canonical_word = _Words()


def words_of(text: str) -> tuple[str, ...]:
    """Return the canonical words of a printed name, in printed order."""
    if _SIMPLE.fullmatch(text) is None:
        text = plain(text)
    elif "," in text or "-" in text:
        text = text.replace(",", " ").replace("-", " ")
    found = [_canonical_word[word] for word in text.split()]
    if not _TWO_WORDS.isdisjoint(found):
        found = " ".join(found).split()
    if not _PAIR_STARTS.isdisjoint(found):
        found = _joined(found)
    return tuple(found)


_TWO_WORDS = frozenset(better for better in _UK_US.values() if " " in better)
_PAIRS = {("fat", "free"): "nonfat", ("non", "fat"): "nonfat", ("non", "gmo"): "nongmo", ("soy", "bean"): "soybean",
          ("non", "hydrogenated"): "nongmo", ("gluten", "free"): "glutenfree", ("free", "range"): "nongmo",
          ("dairy", "free"): "dairyfree", ("gmo", "free"): "nongmo", ("cage", "free"): "nongmo",
          ("non", "dairy"): "nondairy", ("sugar", "free"): "sugarfree", ("aluminum", "free"): "nongmo",
          ("alcohol", "free"): "nongmo", ("sulfite", "free"): "nongmo", ("lactose", "free"): "lactosefree",
          ("caffeine", "free"): "decaffeinated", ("wheat", "free"): "glutenfree", ("gm", "free"): "nongmo",
          ("dry", "roasted"): "roasted", ("oil", "roasted"): "roasted", ("dry", "roast"): "roasted",
          ("rbst", "free"): "nongmo", ("no", "salt"): "nosalt", ("dry", "aged"): "aged", ("dry", "cured"): "cured",
          ("antibiotic", "free"): "nongmo", ("hormone", "free"): "nongmo", ("allergen", "free"): "nongmo"}
_PAIR_STARTS = frozenset(first for first, _ in _PAIRS)


def _joined(words: list[str]) -> list[str]:
    result: list[str] = []
    for word in words:
        if result and (result[-1], word) in _PAIRS:
            result[-1] = _PAIRS[result[-1], word]
        else:
            result.append(word)
    return result


def printed_words() -> frozenset[str]:
    """Return the words of other spellings (UK, plurals out of the rule) that `one_word` brings to the tables' own."""
    return frozenset(_UK_US) | frozenset(_IRREGULAR)


@cache
def effects() -> dict[str, str]:
    """Return what each word of `shelf_words.csv` does to a name.

    `none`: composition stays; `head`: says shape, origin or roasting of the noun behind it; `role`: says what the
    thing does; `changes`: makes another food, never dropped; `word`: a word that is no slip of another.
    """
    table: dict[str, str] = {}
    for row in rows("shelf_words"):
        for word in row["words"].split("; "):
            table.setdefault(one_word(word), row["effect"])
    for word in ("nongmo", "glutenfree", "dairyfree"):
        table[word] = "none"
    for word in ("nonfat", "nondairy", "sugarfree", "lactosefree", "decaffeinated"):
        table[word] = "changes"
    return table
