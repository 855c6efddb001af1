"""The forms for runs that are not the rotor's own."""

from __future__ import annotations

from typing import Any

import pytest
from listening_desk import some_state

from bench.screens.aside_dialogs import index_run, machine_check
from bench.screens.form_dialog import FormComplaintError, FormDialog
from bench.use_cases.commands import CheckMachine, MarkIndexRun


def given(dialog: FormDialog, **changed: str) -> Any:
    told = {field.name: field.value for field in dialog._fields}
    return dialog._read(told | changed)


def test_the_set_turned_by_half_a_turn_unless_told_otherwise() -> None:
    assert given(index_run()) == MarkIndexRun(180.0)
    assert given(index_run(), turned="-90,5") == MarkIndexRun(-90.5)
    with pytest.raises(FormComplaintError):
        given(index_run(), turned="half")


def test_a_known_mass_at_two_angles() -> None:
    dialog = machine_check(some_state())
    assert given(dialog) == CheckMachine("front", 10.0, (0.0, 90.0))
    assert given(dialog, mass="12,5", plane="rear", angles="0° 120 240") == CheckMachine(
        "rear", 12.5, (0.0, 120.0, 240.0)
    )
    with pytest.raises(FormComplaintError, match="two angles"):
        given(dialog, angles="0")
    with pytest.raises(FormComplaintError):
        given(dialog, mass="much")
