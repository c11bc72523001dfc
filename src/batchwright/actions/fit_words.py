"""What a fit did, in a cook's words: for page, print and terminal alike."""

from __future__ import annotations

from batchwright.formula.fitting.records import Change, Fitted

GAP_LEAST = 0.005  # grams; a smaller change is none to any scale


def sentence(found: Fitted) -> str:
    """Return the answer in plain words: whether it can be done, and every change in grams."""
    moved = [each for each in found.changes if abs(each.after_g - each.before_g) >= GAP_LEAST]
    said = [change_words(each, found) for each in moved]
    many = "Nothing" if not moved else f"{len(moved)} line{'s' if len(moved) > 1 else ''}"
    if found.met:
        head = "Every target is met already." if not moved else f"Every target is met by changing {many}:"
    else:
        missed = list(dict.fromkeys(each.name for each in found.outcomes if each.missed and not each.preference))
        head = f"Not every target can be met: {_listed(missed)} stay{'s' if len(missed) == 1 else ''} out of reach. "
        head += "The recipe as it stands is the nearest." if not moved else f"The nearest changes {many}:"
    return f"{head} {_listed(said)}." if said else head


def change_words(change: Change, found: Fitted) -> str:
    """Return one change as a cook says it: "butter 142 to 121 g (21 less)"."""
    twice = sum(other.name == change.name for other in found.changes) > 1
    name = f"{change.name} ({change.part})" if twice and change.part else change.name
    by = change.after_g - change.before_g
    if change.entering:
        return f"{name} in, {grams(change.after_g)} g"
    if change.after_g <= 0:
        return f"{name} out, {grams(change.before_g)} g"
    way = "more" if by > 0 else "less"
    return f"{name} {grams(change.before_g)} to {grams(change.after_g)} g ({grams(abs(by))} {way})"


def grams(mass_g: float) -> str:
    """Return a mass [g] as a kitchen scale shows it: whole grams from 20 g on, tenths below, hundredths below 1 g."""
    return f"{mass_g:.0f}" if mass_g >= 20 else f"{mass_g:.1f}" if mass_g >= 1 else f"{mass_g:.2f}" if mass_g else "0"


def _listed(names: list[str]) -> str:
    return " and ".join([", ".join(names[:-1]), names[-1]] if len(names) > 1 else names)
