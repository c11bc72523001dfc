"""Read invented labels as a camera would bring them, and count the characters and panel figures that come out right.

    python benchmarks/ocr_labels.py [--each 8] [--only blur] [--write FOLDER]

Each condition has labels of its own: five typefaces in turn, capitals 10 to 14 px high in turn. A label has an
ingredient list and a panel, below it or beside it. Fonts: Debian's fonts-dejavu-extra and fonts-liberation.
`--write` leaves pictures and texts in a folder, to measure other programs on the same.
"""

from __future__ import annotations

import argparse
import io
import json
import random
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from PIL import Image, ImageDraw, ImageFilter, ImageFont

from batchwright.actions.photo_reading import reading_of
from batchwright.base.threads import on_one_thread

FONTS = Path("/usr/share/fonts/truetype")
FACES = {
    "sans": "dejavu/DejaVuSans.ttf",
    "condensed": "dejavu/DejaVuSansCondensed.ttf",
    "grotesque": "liberation/LiberationSans-Regular.ttf",
    "serif": "liberation/LiberationSerif-Regular.ttf",
    "narrow capitals": "liberation/LiberationSansNarrow-Bold.ttf",
}
CAPITALS_PX = (10, 11, 12, 13, 14)
MARGIN = 24
LISTS = (
    "wheat flour, sugar, palm oil, fat reduced cocoa powder 6%, glucose-fructose syrup, whey powder (milk), raising "
    "agents (sodium hydrogen carbonate, ammonium hydrogen carbonate), salt, emulsifier: lecithins (soya), flavouring.",
    "enriched flour (wheat flour, niacin, reduced iron, thiamine mononitrate, riboflavin, folic acid), sugar, palm and "
    "canola oil, high fructose corn syrup, cornstarch, salt, baking soda, soy lecithin, vanillin, chocolate.",
    "almonds (32%), sugar, egg white, invert sugar syrup, apricot kernels, wheat starch, humectant: sorbitol, salt, "
    "natural orange flavouring, colour: beta-carotene.",
    "filling 41% (sugar, coconut oil, skimmed milk powder, hazelnuts 8%, lactose), oat flakes 24%, butter, honey, "
    "barley malt extract, salt, raising agent: potassium carbonates, cinnamon.",
    "potatoes, sunflower oil, seasoning [whey powder (milk), onion powder, salt, sugar, yeast extract, paprika powder, "
    "acid: citric acid, smoke flavouring, turmeric extract].",
    "cream (milk) 38%, water, sugar, glucose syrup, egg yolk, raspberries 9%, maltodextrin, stabilisers (guar gum, "
    "locust bean gum, carrageenan), elderberry juice concentrate, vanilla extract.",
    "rice flour, buckwheat flour 18%, cane sugar, rapeseed oil, linseed, dried apples 5%, inulin, pea protein, "
    "sea salt, thickener: xanthan gum, rosemary extract.",
    "milk chocolate coating 35% (sugar, cocoa butter, whole milk powder, cocoa mass, emulsifier: sunflower lecithin), "
    "caramel (condensed skimmed milk, glucose syrup, butterfat), peanuts 14%, egg albumen, salt.",
)  # fmt: skip
TAILS = ("May contain traces of nuts and sesame.", "Contains: wheat, soy, milk.", "Store in a cool, dry place.", "")


@dataclass(frozen=True, slots=True)
class Printed:
    """A label as printed: its lines in reading order, and its panel's figures, name -> amount as printed."""

    listed: str
    rows: tuple[tuple[str, ...], ...]
    figures: dict[str, tuple[str, ...]]
    title: tuple[str, ...]

    @property
    def text(self) -> str:
        """The whole text in reading order, the list first."""
        return " ".join([self.listed, *self.title, *(" ".join(row) for row in self.rows)])


def european(chance: random.Random) -> Printed:
    """Return a label with a European table, per 100 g and per piece."""
    fat, carb, protein, fibre = (chance.uniform(*ends) for ends in ((2, 34), (20, 72), (1, 14), (0.5, 9)))
    energy = 37 * fat + 17 * carb + 17 * protein + 8 * fibre  # kJ; EU 1169/2011, Annex XIV
    piece_g = chance.choice((12.5, 25, 30, 40))
    amounts = {"Fat": ("fat_g", fat), "of which saturates": ("saturated_fat_g", fat * chance.uniform(0.1, 0.6)),
               "Carbohydrate": ("carbohydrate_g", carb),
               "of which sugars": ("sugars_g", carb * chance.uniform(0.1, 0.9)), "Fibre": ("fiber_g", fibre),
               "Protein": ("protein_g", protein), "Salt": ("salt_g", chance.uniform(0.05, 2.4))}  # fmt: skip
    rows, figures = [], {}
    kcal = 9 * fat + 4 * carb + 4 * protein + 2 * fibre
    energies = [f"{energy * share:.0f} kJ / {kcal * share:.0f} kcal" for share in (1, piece_g / 100)]
    rows.append(("Energy", *energies))
    figures["energy_kcal"] = tuple(energies)
    for name, (key, amount) in amounts.items():
        places = 2 if key == "salt_g" else 1
        printed = tuple(f"{amount * share:.{places}f}" for share in (1, piece_g / 100))
        rows.append((name, *(f"{each} g" for each in printed)))
        figures[key] = printed
    listed = f"Ingredients: {chance.choice(LISTS)} {chance.choice(TAILS)}".strip()
    return Printed(listed, tuple(rows), figures, ("Typical values", "per 100 g", f"per piece ({piece_g:g} g)"))


def american(chance: random.Random) -> Printed:
    """Return a label with a Nutrition Facts panel."""
    fat, carb, protein = chance.randint(1, 19), chance.randint(8, 44), chance.randint(0, 9)
    sugars, serving_g = chance.randint(1, carb), chance.choice((28, 30, 34, 39, 55))
    added = chance.randint(0, sugars)
    saturated, fibre, sodium = chance.randint(0, fat), chance.randint(0, 5), 5 * chance.randint(1, 96)
    calories = round((9 * fat + 4 * carb + 4 * protein) / 10) * 10
    rows = [("Serving size", f"3 pieces ({serving_g}g)"), ("Calories", f"{calories}"),
            ("Total Fat", f"{fat}g", f"{fat / 0.78:.0f}%"), ("Saturated Fat", f"{saturated}g", f"{saturated * 5}%"),
            ("Trans Fat", "0g"), ("Cholesterol", "0mg", "0%"), ("Sodium", f"{sodium}mg", f"{sodium / 23:.0f}%"),
            ("Total Carbohydrate", f"{carb}g", f"{carb / 2.75:.0f}%"),
            ("Dietary Fiber", f"{fibre}g", f"{fibre / 0.28:.0f}%"), ("Total Sugars", f"{sugars}g"),
            ("Includes", f"{added}g Added Sugars", f"{added * 2}%"), ("Protein", f"{protein}g")]  # fmt: skip
    figures = {"energy_kcal": (f"{calories}",), "fat_g": (f"{fat}",), "saturated_fat_g": (f"{saturated}",),
               "trans_fat_g": ("0",), "cholesterol_mg": ("0",), "sodium_mg": (f"{sodium}",),
               "carbohydrate_g": (f"{carb}",), "fiber_g": (f"{fibre}",), "sugars_g": (f"{sugars}",),
               "added_sugars_g": (f"{added}",), "protein_g": (f"{protein}",)}  # fmt: skip
    listed = f"Ingredients: {chance.choice(LISTS)} {chance.choice(TAILS)}".strip()
    return Printed(listed, tuple(rows), figures, ("Nutrition Facts",))


def in_capitals(printed: Printed) -> Printed:
    """Return the label with its list in capitals, as narrow faces are used; a panel keeps its small letters."""
    return Printed(printed.listed.upper(), printed.rows, printed.figures, printed.title)


def font_of(face: str, capital_px: int) -> ImageFont.FreeTypeFont:
    """Return a face in the size whose capitals are so high."""
    place = FONTS / FACES[face]
    if not place.exists():
        raise SystemExit(f"{place} is missing: apt-get install fonts-dejavu-extra fonts-liberation")
    size = next(size for size in range(capital_px, 60) if _capital_px(place, size) >= capital_px)
    return ImageFont.truetype(place, size)


def _capital_px(place: Path, size: int) -> float:
    box = ImageFont.truetype(place, size).getbbox("H")
    return box[3] - box[1]


def drawn(printed: Printed, face: str, capital_px: int, beside: bool) -> Image.Image:
    """Return the label drawn dark on light; the panel below the list, or beside it."""
    font = font_of(face, capital_px)
    line_px = round(capital_px * 1.9)  # common practice: lines 1.2 to 1.4 of the type's size apart
    list_px = capital_px * 46
    lines = _wrapped(printed.listed, font, list_px)
    columns = _columns(printed, font, capital_px)
    panel_px = columns[-1]
    rows = [printed.title, *printed.rows]
    if beside:
        size = (list_px + panel_px + 4 * MARGIN, max(len(lines), len(rows)) * line_px + 2 * MARGIN)
    else:
        size = (max(list_px, panel_px) + 2 * MARGIN, (len(lines) + len(rows) + 1) * line_px + 2 * MARGIN)
    page = Image.new("L", size, 236)
    pen = ImageDraw.Draw(page)
    for at, line in enumerate(lines):
        pen.text((MARGIN, MARGIN + at * line_px), line, font=font, fill=36)
    left, top = (list_px + 3 * MARGIN, MARGIN) if beside else (MARGIN, MARGIN + (len(lines) + 1) * line_px)
    for at, row in enumerate(rows):
        for place, words in enumerate(row):
            x = left + (columns[place - 1] if place else 0)
            if place:
                x += columns[place] - columns[place - 1] - font.getlength(words)  # figures stand to the right
            pen.text((x, top + at * line_px), words, font=font, fill=36)
    return page


def _columns(printed: Printed, font: ImageFont.FreeTypeFont, capital_px: int) -> list[int]:
    """Return the right ends of a panel's columns."""
    ends, rows = [0], [printed.title, *printed.rows]
    for place in range(max(len(row) for row in rows)):
        widest = max((font.getlength(row[place]) for row in rows if place < len(row)), default=0)
        ends.append(ends[-1] + round(widest) + 2 * capital_px)
    return ends[1:]


def _wrapped(text: str, font: ImageFont.FreeTypeFont, width_px: int) -> list[str]:
    lines = [""]
    for word in text.split():
        longer = f"{lines[-1]} {word}".strip()
        if font.getlength(longer) > width_px and lines[-1]:
            lines.append(word)
        else:
            lines[-1] = longer
    return lines


def tilted(page: Image.Image) -> Image.Image:
    """Turn by 5 degrees."""
    return page.rotate(5, Image.Resampling.BICUBIC, expand=True, fillcolor=int(np.asarray(page)[0, 0]))


def blurred(page: Image.Image) -> Image.Image:
    """Blur with a Gaussian of 1.5 px."""
    return page.filter(ImageFilter.GaussianBlur(1.5))


def as_jpeg(page: Image.Image) -> Image.Image:
    """Send through a JPEG of quality 70."""
    out = io.BytesIO()
    page.save(out, "JPEG", quality=70)
    return Image.open(io.BytesIO(out.getvalue())).convert("L")


def in_uneven_light(page: Image.Image) -> Image.Image:
    """Light one corner, leave the other at a third of it."""
    grey = np.asarray(page, dtype=float)
    down, across = np.mgrid[0 : grey.shape[0], 0 : grey.shape[1]]
    slope = (down / grey.shape[0] + across / grey.shape[1]) / 2
    return Image.fromarray((grey * (1.0 - 0.67 * slope)).clip(0, 255).astype(np.uint8))


def light_on_dark(page: Image.Image) -> Image.Image:
    """Print light on dark."""
    return page.point(lambda value: 255 - value)


CONDITIONS: dict[str, tuple[Callable[[Image.Image], Image.Image], ...]] = {
    "plain": (),
    "light on dark": (light_on_dark,),
    "tilt 5 degrees": (tilted,),
    "blur 1.5 px": (blurred,),
    "JPEG 70": (as_jpeg,),
    "uneven light": (in_uneven_light,),
    "all but blur": (light_on_dark, in_uneven_light, tilted, as_jpeg),
    "all at once": (in_uneven_light, tilted, blurred, as_jpeg),
}  # fmt: skip


def labels(condition: str, each: int) -> Iterator[tuple[str, Printed, Image.Image]]:
    """Yield the labels of a condition: what they are, what is printed, the picture."""
    for at in range(each):
        chance = random.Random(f"{condition} {at}")
        face = list(FACES)[at % len(FACES)]
        capital_px = CAPITALS_PX[(at + at // len(FACES)) % len(CAPITALS_PX)]
        printed = (american if at % 3 == 1 else european)(chance)
        if face == "narrow capitals":
            printed = in_capitals(printed)
        page = drawn(printed, face, capital_px, beside=at % 4 == 3)
        for change in CONDITIONS[condition]:
            page = change(page)
        yield f"{face}, {capital_px} px", printed, page


def wrong_characters(printed: str, read: str) -> int:
    """Return how many characters must be put in, left out or changed; line breaks count as blanks."""
    first, second = (" ".join(text.split()) for text in (printed, read))
    row = list(range(len(second) + 1))
    for at, letter in enumerate(first, 1):
        older, row[0] = row[0], at
        for place, other in enumerate(second, 1):
            older, row[place] = row[place], min(row[place] + 1, row[place - 1] + 1, older + (letter != other))
    return row[-1]


def right_figures(figures: dict[str, tuple[str, ...]], panels: list[dict[str, str]]) -> int:
    """Return how many of the printed figures stand under their name in their column of the panels read."""
    return sum(
        place < len(panels) and panels[place].get(key) == amount
        for key, amounts in figures.items()
        for place, amount in enumerate(amounts)
    )


def png(page: Image.Image) -> bytes:
    """Return the picture's bytes."""
    out = io.BytesIO()
    page.convert("RGB").save(out, "PNG")
    return out.getvalue()


def measure(condition: str, each: int, talk: bool) -> tuple[float, float, float]:
    """Return the percent of characters and of panel figures read right, and the seconds a picture took."""
    letters = wrong = figures = right = 0
    seconds = 0.0
    for what, printed, page in labels(condition, each):
        begun = time.perf_counter()
        read = reading_of(png(page))
        seconds += time.perf_counter() - begun
        missed = wrong_characters(printed.text, "\n".join([read.listed, read.panel_text]))
        found = right_figures(printed.figures, [dict(panel) for panel in read.panels])
        count = sum(map(len, printed.figures.values()))
        if talk:
            print(f"  {what}: {missed} of {len(printed.text)} characters wrong, {found} of {count} figures")
            if missed > 12 or found < count:
                print(json.dumps({"printed": printed.text, "read": read.to_json()}, ensure_ascii=False, indent=1))
        letters, wrong = letters + len(printed.text), wrong + missed
        figures, right = figures + count, right + found
    return 100 * (1 - wrong / letters), 100 * right / figures, seconds / each


def main() -> int:
    """Print one line for each condition; return 1 where the target of characters or figures is missed."""
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("--each", type=int, default=8, help="labels of each condition")
    asked.add_argument("--only", default="", help="conditions whose name holds this")
    asked.add_argument("--talk", action="store_true", help="tell of each label")
    asked.add_argument("--write", type=Path, help="leave pictures and texts in this folder, read nothing")
    given = asked.parse_args()
    chosen = [name for name in CONDITIONS if given.only in name]
    if given.write:
        given.write.mkdir(parents=True, exist_ok=True)
        for name in chosen:
            for at, (_, printed, page) in enumerate(labels(name, given.each)):
                stem = f"{name.replace(' ', '_')}-{at:02d}"
                (given.write / f"{stem}.png").write_bytes(png(page))
                (given.write / f"{stem}.json").write_text(json.dumps([printed.text, printed.figures]))
        return 0
    on_one_thread()
    missed = False
    print(f"{given.each} labels each; target 97 % of characters, 95 % of panel figures")
    for name in chosen:
        characters, figures, seconds = measure(name, given.each, given.talk)
        missed |= characters < 97 or figures < 95
        print(f"{name:16s} characters {characters:6.2f} %   figures {figures:6.2f} %   {seconds:5.1f} s a picture",
              flush=True)  # fmt: skip
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main())
