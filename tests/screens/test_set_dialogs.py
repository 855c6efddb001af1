"""The forms for the parts on a crank and for the next rotor of a set."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from listening_desk import some_state, view_of

from bench.models.job import CorrectionPlane, MountedPart, Stage, Tolerance
from bench.models.job_state import JobState
from bench.screens.form_dialog import FormComplaintError, FormDialog
from bench.screens.set_dialogs import mounted, next_rotor, parts
from bench.screens.spin_dialogs import cuts_as_made, enter_stations
from bench.screens.spin_panel import set_words
from bench.screens.why_not import needs_parts
from bench.use_cases.commands import BeginRotor, EnterParts, MountParts, RecordCuts
from bench.use_cases.view import Step, Want

FLYWHEEL = MountedPart(name="flywheel", position_mm=540.0, carries_g_mm=900.0, heavy_deg=90.0)
DAMPER = MountedPart(name="damper", position_mm=-60.0)
COVER = Stage(
    name="clutch cover",
    on="crank",
    planes=(CorrectionPlane(name="cover", radius_mm=120.0, position_mm=585.0),),
    tolerance=Tolerance(shop_limit_g=0.8, spin_uncertainty_g=0.1),
    rotor_mass_kg=42.0,
)


def given(dialog: FormDialog, **changed: str) -> Any:
    told = {field.name: field.value for field in dialog._fields}
    return dialog._read(told | changed)


def with_parts(runs: int = 1, *, said: tuple[str, ...] | None = None) -> JobState:
    state = some_state(runs=runs)
    spec = state.spec.model_copy(update={"balance": "external", "mounted": (FLYWHEEL, DAMPER)})
    spins = tuple(replace(spin, mounted=said) for spin in state.spins)
    return replace(state, spec=spec, spins=spins, mounted=said)


def test_all_parts_are_ticked_until_somebody_says_otherwise() -> None:
    assert given(mounted(with_parts(0))) == MountParts(("flywheel", "damper"))
    # the last run was made before anybody said: it is ticked to be told as well
    assert given(mounted(with_parts(1))) == MountParts(("flywheel", "damper"), last_run=True)
    told = mounted(with_parts(1, said=("damper",)))
    assert given(told) == MountParts(("damper",))
    assert given(told, **{"part-0": "yes", "last": "yes", "reason": "came today"}) == MountParts(
        ("flywheel", "damper"), last_run=True, reason="came today"
    )


def test_parts_are_lines_and_need_a_word_where_they_are_from() -> None:
    dialog = parts(with_parts())
    with pytest.raises(FormComplaintError, match="where these figures are from"):
        given(dialog)
    assert given(dialog, reason="sheet") == EnterParts((FLYWHEEL, DAMPER), "sheet")
    changed = given(dialog, **{"part-0": "flywheel; at 540; carries 6 g x 150 mm; heavy 90", "part-1": ""}, reason="s")
    assert [part.amount_g_mm for part in changed.parts] == [900.0]
    with pytest.raises(FormComplaintError, match="for example 900 g mm") as fault:
        given(dialog, **{"part-1": "damper; at -60; carries much"}, reason="s")
    assert fault.value.field == "part-1"


def test_the_planned_rotor_fills_the_form() -> None:
    state = some_state(runs=4)
    state = replace(state, spec=state.spec.model_copy(update={"stages": (COVER,)}))
    told = given(next_rotor(state))
    assert isinstance(told, BeginRotor)
    assert told.rotor == COVER.model_copy(update={"speed_rpm": 4600.0})
    other = given(next_rotor(state), on="arbor", limit="0,5", at="-40", why="later")
    assert (other.rotor.on, other.rotor.tolerance.shop_limit_g, other.rotor.planes[0].position_mm) == (
        "arbor",
        0.5,
        -40,
    )
    assert other.words == "later"


def test_a_rotor_nobody_planned_is_typed() -> None:
    dialog = next_rotor(some_state(runs=4))
    with pytest.raises(FormComplaintError, match="from the crank's front plane"):
        given(dialog)
    told = given(dialog, at="540", radius="15 cm")
    assert (told.rotor.name, told.rotor.on, told.rotor.planes[0].radius_mm) == ("flywheel", "arbor", 150.0)
    # the machine's text calls its one plane front; on the crank the part's place is not taken for the crank's plane
    assert told.rotor.planes[0].name == "front"
    assert given(dialog, at="540", radius="150", on="crank").rotor.planes[0].name == "flywheel"
    for field, value in (("name", ""), ("radius", "0"), ("limit", ""), ("mass", "-3")):
        with pytest.raises(FormComplaintError) as fault:
            given(dialog, **{"at": "540", "radius": "150", field: value})
        assert fault.value.field == field


def test_on_the_crank_cuts_and_stations_are_the_parts() -> None:
    state = some_state(runs=1)
    state = replace(state, spec=state.spec.model_copy(update={"cut_at": COVER.planes}))
    told = given(cuts_as_made(None, state), **{"cut-0": "cover 60 5 g"})
    assert isinstance(told, RecordCuts)
    assert [(cut.plane, cut.angle_deg, cut.grams) for cut in told.cuts] == [("cover", 60.0, 5.0)]
    with pytest.raises(FormComplaintError, match="wanted cover"):
        given(cuts_as_made(None, state), **{"cut-0": "rear 60 5 g"})
    assert given(enter_stations(state, ()), type="cover C").stations.stations[0].plane == "cover"


def test_the_side_says_which_rotor_it_is_and_what_is_mounted() -> None:
    state = with_parts(1, said=("damper",))
    words = set_words(view_of(state, Step.SPIN, Want()))
    assert words == ["mounted: damper; without flywheel a run is no verdict"]
    planned = replace(state, spec=state.spec.model_copy(update={"stages": (COVER,)}))
    assert set_words(view_of(planned, Step.SPIN, Want()))[0] == "crank assembly: rotor 1 of 2"


def test_without_parts_the_key_says_what_to_do() -> None:
    assert "key - enters them" in needs_parts(view_of(some_state(runs=1), Step.SPIN, Want()))
    assert needs_parts(view_of(with_parts(), Step.SPIN, Want())) == ""
