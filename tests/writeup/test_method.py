"""A method text becomes steps; one time of heat becomes a range; nothing else is rewritten."""

from __future__ import annotations

import pytest

from batchwright.formula.records import Step
from batchwright.writeup.method import card_steps, steps_of_text


@pytest.mark.parametrize(
    ("text", "printed"),
    [("Bake for 12 minutes, until golden.", "Bake for 11 to 13 minutes, until golden."),
     ("Bake 10 to 12 minutes.", "Bake 10 to 12 minutes."), ("Bake 10-12 min.", "Bake 10-12 min."),
     ("Chill for 2 hours.", "Chill for 2 hours."), ("Beat 3 minutes.", "Beat 3 minutes."),
     ("Bake at least 20 minutes", "Bake at least 20 minutes"),
     ("Bake, turning after 10 minutes", "Bake, turning after 10 minutes"),
     ("Boil one minute", "Boil 1 to 2 minutes"), ("Bake 1 1/2 hours", "Bake 80 to 100 minutes"),
     ("Simmer 4 hours", "Simmer 3 1/2 to 4 1/2 hours"),
     ("Rest 10 min, then bake 25 min.", "Rest 10 min, then bake 23 to 28 minutes."),
     ("Bake 1 hour 10 minutes", "Bake 1 hour 10 minutes"), ("Bake 40 minutes", "Bake 35 to 45 minutes")],
)  # fmt: skip
def test_times(text: str, printed: str) -> None:
    assert card_steps([Step(text)])[0].text == printed


def test_what_was_widened_is_said() -> None:
    assert card_steps([Step("Bake 12 minutes")])[0].notes[0].startswith('"12 minutes" was one time')


def test_numbered_with_parts() -> None:
    text = "Method:\n1. Mix.\n2. Bake at 350 °F\n   until brown.\n\nFor the filling:\n3) Boil sugar.\n4) Whip."
    assert [(step.text, step.part) for step in steps_of_text(text)] == [
        ("Mix.", ""),
        ("Bake at 350 °F until brown.", ""),
        ("Boil sugar.", "filling"),
        ("Whip.", "filling"),
    ]


def test_paragraphs_and_bullets() -> None:
    assert [step.text for step in steps_of_text("Mix it\nand stir.\n\nBake it.\n")] == ["Mix it and stir.", "Bake it."]
    assert [step.text for step in steps_of_text("- Mix\n- Bake")] == ["Mix", "Bake"]
    assert [step.text for step in steps_of_text("## Filling\nWhip.")] == ["Whip."]
    assert steps_of_text("Method\n\n") == ()
