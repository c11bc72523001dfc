"""What a recipe card is made of: lines, steps, allergens, cautions."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

from batchwright.formula.records import Formula

UNITS = ("both", "us", "metric")
FORMS = ("text", "markdown", "html", "jsonld")
CHECK_PACKS = "Check the packs you buy."
LOCAL_CODES = "These cautions are general; local food codes decide."
EU_WORDS = {"gluten cereals": "cereals containing gluten"}


@dataclass(frozen=True, slots=True)
class AllergenFound:
    """One allergen, in the words of the pantry, and the foods of the recipe that it comes from."""

    allergen: str
    foods: tuple[str, ...]

    def said(self) -> str:
        """Return the allergen and where it comes from: "milk (butter, cream)"."""
        return f"{EU_WORDS.get(self.allergen, self.allergen)} ({', '.join(self.foods)})"


@dataclass(frozen=True, slots=True)
class OpenLine:
    """A line of which the allergens are not known for certain, and why."""

    text: str
    why: str

    def said(self) -> str:
        """Return the line as it stood and why it is open."""
        return f'"{self.text}" ({self.why})'


@dataclass(frozen=True, slots=True)
class AllergenLine:
    """The allergens of a recipe: a warning, never a promise.

    `us` and `eu` hold what is always in it by the names of each law, `read_pack` what the pack of a food decides.
    `open_lines` are those that make it incomplete. `confirmed_by` is the cook who says that every line is what it says;
    it counts only where no line is open.
    """

    us: tuple[AllergenFound, ...]
    eu: tuple[AllergenFound, ...]
    read_pack: tuple[AllergenFound, ...]
    open_lines: tuple[OpenLine, ...]
    confirmed_by: str = ""

    @property
    def complete(self) -> bool:
        """Whether every line is matched by name."""
        return not self.open_lines

    def sentences(self) -> tuple[str, ...]:
        """Return the allergen line, one sentence an entry; the first begins "Not complete:" where a line is open.

        Nothing is ever said to be free of anything, save where a cook has confirmed a recipe in which nothing was found
        and no pack decides; even then the packs are to be read.
        """
        said = []
        if self.open_lines:
            said.append("Not complete: not certain what is in " + "; ".join(line.said() for line in self.open_lines)
                        + ". Read those packs.")  # fmt: skip
        if self.us:
            said.append("Contains, by the US list of nine: " + ", ".join(one.said() for one in self.us) + ".")
        if self.eu:
            said.append("Contains, by the EU list of fourteen: " + ", ".join(one.said() for one in self.eu) + ".")
        if self.read_pack:
            said.append("May contain, read the pack: " + ", ".join(one.said() for one in self.read_pack) + ".")
        if self.complete and self.confirmed_by:
            found = "" if self.us or self.eu or self.read_pack else " None of the US nine or the EU fourteen was found."
            said.append(f"Lines confirmed by {self.confirmed_by}.{found}")
        elif not said:
            said.append("Every pack decides: nobody has confirmed these lines yet.")
        return (*said, CHECK_PACKS)

    def text(self) -> str:
        """Return the whole allergen line."""
        return " ".join(self.sentences())

    def to_json(self) -> dict[str, Any]:
        """Return the lists and the line in words."""
        return {"complete": self.complete, "confirmed_by": self.confirmed_by if self.complete else "",
                "us": [asdict(one) for one in self.us], "eu": [asdict(one) for one in self.eu],
                "read_pack": [asdict(one) for one in self.read_pack],
                "open_lines": [asdict(one) for one in self.open_lines], "text": self.text()}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Caution:
    """One caution: its key, topic and wording, what in this recipe asks for it, and where the wording is from."""

    caution: str
    topic: str
    wording: str
    because: str
    source: str
    defers: str = LOCAL_CODES

    def to_json(self) -> dict[str, Any]:
        """Return all fields."""
        return asdict(self)


@dataclass(frozen=True, slots=True)
class CardLine:
    """One ingredient as the card prints it.

    `measure` is the kitchen measure ("1 1/4 cups"), `grams` the weight as printed, both empty where there is none.
    `before` is preparation that is measured with the food, `after` what follows the comma. `weigh_it` puts the weight
    first. `counted` says that the measure is a count ("2 large"), so that the weight follows the food. `indent` marks a
    further ingredient of the line above.
    """

    measure: str
    grams: str
    item: str
    before: str = ""
    after: str = ""
    weigh_it: bool = False
    indent: bool = False
    counted: bool = False

    def text(self, units: str = "both") -> str:
        """Return the line in words; units: one of UNITS. A line without weight prints the only amount it has."""
        first, second = (self.measure, self.grams) if units != "metric" else (self.grams, "")
        if units == "us" and not self.weigh_it and first:
            second = ""
        if units == "both" and self.weigh_it and second and first:
            first, second = second, first
        if not first:
            first, second = second or self.measure, ""
        behind = self.counted and first == self.measure
        amount = f"{first} ({second})" if second and not behind else first
        weight = f"({second})" if second and behind else ""
        words = " ".join(each for each in (amount, self.before, self.item, weight) if each)
        return f"{words}, {self.after}" if self.after else words


@dataclass(frozen=True, slots=True)
class CardPart:
    """One part of the card: its name, its lines in order of use, what it weighs as mixed ("520 g" or empty)."""

    name: str
    lines: tuple[CardLine, ...]
    mass: str = ""


@dataclass(frozen=True, slots=True)
class CardStep:
    """One numbered step; `notes` say what was done to the cook's words: a temperature reckoned, a time widened."""

    text: str
    part: str = ""
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Card:
    """A recipe card, ready to be printed in any of FORMS; `formula` is what it was made from, `todo` what its author
    has still to give: told beside the card, never printed on it."""

    name: str
    makes: str
    mass: str
    parts: tuple[CardPart, ...]
    steps: tuple[CardStep, ...]
    allergens: AllergenLine
    cautions: tuple[Caution, ...]
    credit: str = ""
    measures: str = ""
    units: str = "both"
    notes: tuple[str, ...] = ()
    unread: tuple[str, ...] = ()
    formula: Formula | None = None
    todo: tuple[str, ...] = ()

    def to_json(self) -> dict[str, Any]:
        """Return the card with every line in words; every command that takes a recipe takes it by its "formula"."""
        plain = {
            "name": self.name, "makes": self.makes, "mass": self.mass, "units": self.units,
            "parts": [{"name": part.name, "mass": part.mass,
                       "lines": [{**asdict(line), "text": line.text(self.units)} for line in part.lines]}
                      for part in self.parts],
            "steps": [asdict(step) for step in self.steps],
            "allergens": self.allergens.to_json(),
            "cautions": [caution.to_json() for caution in self.cautions],
            "credit": self.credit, "measures": self.measures, "notes": list(self.notes), "unread": list(self.unread),
            "todo": list(self.todo),
        }  # fmt: skip
        return plain if self.formula is None else plain | {"formula": self.formula.to_json()}
