"""Faults say what is wrong, what was given, what is allowed, what to do; all of one input together."""

from __future__ import annotations

from batchwright.base.errors import Fault, InputError


def test_fault_in_words() -> None:
    fault = Fault("serving_g", 0, "above 0", "Look at the panel's head.")
    assert str(fault) == "serving_g: got 0; allowed: above 0. Look at the panel's head."


def test_fault_in_json() -> None:
    fault = Fault("parts", {1, 2}, "a list")
    assert fault.to_json() == {"field": "parts", "value": "{1, 2}", "allowed": "a list", "hint": ""}


def test_long_values_are_cut() -> None:
    assert len(str(Fault("text", "x" * 10_000, "short text"))) < 200
    assert len(Fault("text", "x" * 10_000, "short text").to_json()["value"]) <= 201


def test_all_faults_together() -> None:
    error = InputError([Fault("a", 1, "2"), Fault("b", 3, "4")])
    assert str(error).count("\n") == 1
    assert [fault.field for fault in error.faults] == ["a", "b"]
