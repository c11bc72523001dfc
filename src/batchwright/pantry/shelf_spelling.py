"""Slips of spelling and lost blanks: only where one known word fits and no known word is turned into another."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Sequence
from functools import cache, lru_cache
from itertools import pairwise

from batchwright.pantry.shelf_index import by_letters, dictionary, index, known_words
from batchwright.pantry.shelf_words import effects

ONE_SLIP_FROM_LETTERS = 5
TWO_SLIPS_FROM_LETTERS = 9
LONGEST_WORD = 24
MOST_LETTERS_TRIED = 100_000
"""Letters of one text that `split_words` tries to part; no packet prints so many in runs without blanks."""
_LOOKALIKES = (("0", "o"), ("1", "l"), ("1", "i"), ("5", "s"), ("8", "b"), ("6", "b"), ("rn", "m"), ("m", "rn"),
               ("cl", "d"), ("vv", "w"), ("ii", "u"), ("fm", "fru"), ("l", "i"), ("i", "l"))
_DIGITS = str.maketrans("0158", "olsb")
_LETTERS = re.compile(r"[^\W\d_]+")
_SHORT = frozenset({"of", "or", "de", "in"})


def distance_within(first: str, second: str, most: int) -> bool:
    """Return whether two words differ by at most `most` (1 or 2) letters put in, left out, changed or swapped."""
    if abs(len(first) - len(second)) > most:
        return False
    before: list[int] = []
    row = list(range(len(second) + 1))
    for i, letter in enumerate(first, 1):
        older, before = before, row
        row = [i]
        least = i
        for j, other in enumerate(second, 1):
            cost = before[j - 1] if letter == other else 1 + min(before[j - 1], before[j], row[j - 1])
            if i > 1 and j > 1 and letter == second[j - 2] and first[i - 2] == other:
                cost = min(cost, older[j - 2] + 1)
            row.append(cost)
            least = min(least, cost)
        if least > most:
            return False
    return row[-1] <= most


@cache
def _pieces(parts: int) -> dict[tuple[int, int, str], list[str]]:
    """Known words under (length, piece number, letters of the piece), cut in `parts` pieces."""
    table: dict[tuple[int, int, str], list[str]] = {}
    for word in known_words():
        if len(word) >= 4 and word.isalpha():
            for number, (start, end) in enumerate(_cuts(len(word), parts)):
                table.setdefault((len(word), number, word[start:end]), []).append(word)
    return table


def _cuts(length: int, parts: int) -> list[tuple[int, int]]:
    edges = [length * number // parts for number in range(parts + 1)]
    return list(pairwise(edges))


def _near(word: str, most: int) -> set[str]:
    table = _pieces(most + 1)
    found: set[str] = set()
    for length in range(max(4, len(word) - most), len(word) + most + 1):
        for number, (start, end) in enumerate(_cuts(length, most + 1)):
            for shift in range(-most, most + 1):
                first = start + shift
                if first >= 0:
                    found.update(table.get((length, number, word[first:first + end - start]), ()))
    return {candidate for candidate in found if distance_within(word, candidate, most)}


def _scanned(word: str) -> set[str]:
    """What the word may have been before a scanner read look-alike signs into it: one sign changed, or all digits."""
    variants = {word.translate(_DIGITS)} if any(sign in "0158" for sign in word) else set()
    for wrong, right in _LOOKALIKES:
        place = word.find(wrong)
        while place >= 0:
            variants.add(word[:place] + right + word[place + len(wrong):])
            place = word.find(wrong, place + 1)
    return variants


def _without_slips(near: set[str]) -> set[str]:
    """Known words without those that some label prints for another of them by mistake ("lecithen", "lecithin")."""
    if len(near) < 2:
        return near
    uses = _uses()
    first = max(near, key=lambda word: (uses[word], word))
    table = effects()
    return {word for word in near if word == first or word in table or uses[word] > 2
            or uses[first] < 10 * uses[word] or not distance_within(first, word, 2)}


@cache
def _uses() -> Counter[str]:
    """In how many names of the shelf each word stands."""
    return Counter(word for key in index().by_key for word in key.split())


@lru_cache(maxsize=20_000)
def mended_word(word: str) -> str | None:
    """Return the one known word a misspelt word must mean, or None.

    Look-alike signs of a scanner first (0/o, 1/l, 5/s, rn/m), then one slip from five letters on, two from nine on.
    A known word is never changed; two candidates are no candidate, unless just one keeps the first letter.
    """
    known = known_words()
    if word in known or len(word) > LONGEST_WORD or len(word) < 4:
        return None
    spelled = dictionary()
    seen = {variant for variant in _scanned(word) if variant in spelled and len(variant) >= 3}
    if len(seen) == 1 and (len(word) >= ONE_SLIP_FROM_LETTERS or "rn" in word or any(sign.isdigit() for sign in word)):
        return seen.pop()
    if any(sign.isdigit() for sign in word) or not word.isalpha():
        return None
    for most, least_letters in ((1, ONE_SLIP_FROM_LETTERS), (2, TWO_SLIPS_FROM_LETTERS)):
        if len(word) < least_letters:
            break
        near = _near(word, most)
        if most == 2:
            near = {candidate for candidate in near if len(candidate) >= TWO_SLIPS_FROM_LETTERS - 1}
        near = _without_slips(near)
        same = {candidate for candidate in near if candidate[0] == word[0]}
        if len(same) == 1:
            return same.pop()
        if not same and len(near) == 1 and len(word) >= 7:
            return near.pop()
        if near:
            return None
    return None


def mended(words: Sequence[str]) -> tuple[str, ...] | None:
    """Return the words with every unknown one mended or parted, or None if nothing could be mended."""
    known = known_words()
    result: list[str] = []
    changed = False
    for word in words:
        if word in known or word.isdigit():
            result.append(word)
            continue
        parts = parted(word) if len(word) >= 7 else None
        if parts is not None:
            result.extend(parts)
            changed = True
            continue
        other = mended_word(word)
        if other is not None:
            result.append(other)
            changed = True
        else:
            result.append(word)
    return tuple(result) if changed else None


@cache
def _lengths() -> dict[str, tuple[int, ...]]:
    """Lengths of known words under their first three letters, longest first."""
    table: dict[str, set[int]] = {}
    for word in dictionary():
        if word.isalpha() and 3 <= len(word) <= LONGEST_WORD:
            table.setdefault(word[:3], set()).add(len(word))
    return {start: tuple(sorted(lengths, reverse=True)) for start, lengths in table.items()}


@lru_cache(maxsize=20_000)
def parted(word: str) -> tuple[str, ...] | None:
    """Return a run of letters as the fewest known words of three letters or more that fill it, or None."""
    cuts = _best_cuts(word, strict=True)
    if cuts is None or len(cuts) < 2:
        return None
    return tuple(word[start:end] for start, end in cuts)


def _best_cuts(run: str, strict: bool) -> list[tuple[int, int]] | None:
    """Cheapest cover of `run` by known words; unknown letters cost much and are refused when `strict`. Linear time."""
    known, lengths = dictionary(), _lengths()
    size = len(run)
    huge = float("inf")
    cost = [huge] * (size + 1)
    back = [-1] * (size + 1)
    cost[0] = 0.0
    for start in range(size):
        here = cost[start]
        if here == huge:
            continue
        for length in lengths.get(run[start:start + 3], ()):
            end = start + length
            if end <= size and run[start:end] in known:
                price = here + 1.0 + (1.4 if length == 3 else 0.4 if length == 4 else 0.0)
                if price < cost[end]:
                    cost[end], back[end] = price, start
        if run[start] in "oid" and run[start:start + 2] in _SHORT and here + 1.6 < cost[start + 2]:
            cost[start + 2], back[start + 2] = here + 1.6, start
        if not strict and here + 1.5 < cost[start + 1]:
            cost[start + 1], back[start + 1] = here + 1.5, start
    if cost[size] == huge:
        return None
    cuts: list[tuple[int, int]] = []
    end = size
    while end > 0:
        start = back[end]
        if cuts and end - start == 1 and cuts[-1][0] == end and _unknown(run, cuts[-1]):
            cuts[-1] = (start, cuts[-1][1])
        else:
            cuts.append((start, end))
        end = start
    cuts.reverse()
    return cuts


def _unknown(run: str, cut: tuple[int, int]) -> bool:
    piece = run[cut[0]:cut[1]]
    return piece not in _SHORT and (len(piece) < 3 or piece not in dictionary())


def split_words(text: str) -> str:
    """Return the text with blanks put back between known words that were printed in one run ("wheatflour").

    Only blanks are added, every other sign stays; a run that is a known word, or of which a fifth or more is in no
    known word, is left as it is, and so is what stands beyond the first MOST_LETTERS_TRIED letters in such runs.
    Time grows linearly with the text.
    """
    pieces: list[str] = []
    done = 0
    tried = 0
    known = dictionary()
    for hit in _LETTERS.finditer(text):
        run = hit.group()
        if len(run) < 7:
            continue
        lower = run.lower()
        if len(lower) != len(run) or lower in known:
            continue
        tried += len(run)
        if tried > MOST_LETTERS_TRIED:
            break
        cuts = _best_cuts(lower, strict=False)
        if cuts is None or len(cuts) < 2:
            continue
        strange = sum(end - start for start, end in cuts if _unknown(lower, (start, end)))
        if strange * 5 >= len(run):
            continue
        pieces.append(text[done:hit.start()])
        pieces.append(" ".join(run[start:end] for start, end in cuts))
        done = hit.end()
    pieces.append(text[done:])
    return "".join(pieces)


def known_letters(words: Iterable[str]) -> str | None:
    """Return the key that has the same letters with blanks in other places ("malto dextrin"), or None."""
    letters = "".join(words)
    return by_letters().get(letters) if 5 < len(letters) <= 60 else None
