from __future__ import annotations

from typing import Any

import pytest

from bench.computation.engine_layouts import LAYOUTS as NAMED
from bench.models.job import JobSpec, Tolerance
from bench.use_cases.demo_job import demo_spec
from bench.use_cases.intake_doubts import doubts_of
from bench.use_cases.part_choices import BOTH_ENDS, CHOICES, NOTHING, kinds_of
from bench.use_cases.usual_layouts import engine_layout, layouts_to_pick, planes_for


def changed(**values: Any) -> JobSpec:
    spec = demo_spec()
    radius = values.pop("radius", None)
    tolerance = {key: values.pop(key) for key in list(values) if key in Tolerance.model_fields}
    if radius is not None:
        values["planes"] = planes_for(spec.layout, radius_mm=radius)
    if tolerance:
        values["tolerance"] = spec.tolerance.model_copy(update=tolerance)
    return spec.model_copy(update=values)


def test_the_usual_job_raises_no_doubt() -> None:
    assert doubts_of(demo_spec()) == ()


@pytest.mark.parametrize(
    ("field", "values"),
    [
        ("share", {"reciprocating_share": 0.36}),
        ("oil", {"oil_g": 60.0}),
        ("radius", {"radius": 9.0}),
        ("radius", {"radius": 3543.0}),
        ("limit", {"shop_limit_g": 100.0}),
        ("limit", {"shop_limit_g": 0.1}),
        ("band", {"bobweight_g": 10.0}),
        ("mass", {"rotor_mass_kg": 0.0315}),
        ("mass", {"rotor_mass_kg": 31500.0}),
        ("speed", {"speed_rpm": 46.0}),
        ("grade", {"grade_mm_per_s": 630.0}),
        ("grade", {"grade_mm_per_s": 6.3, "shop_limit_g": 0.25, "speed_rpm": 500.0}),
    ],
)
def test_each_slip_is_seen_with_a_reason(field: str, values: dict[str, Any]) -> None:
    doubts = doubts_of(changed(**values))
    assert field in {doubt.field for doubt in doubts}
    for doubt in doubts:
        # what was found, what is usual or what it does
        assert any(char.isdigit() for char in doubt.words)
        assert ":" in doubt.words


def test_every_layout_of_the_computations_becomes_one_of_a_job() -> None:
    picked = layouts_to_pick()
    for named in NAMED:
        layout = engine_layout(named)
        assert picked[named.name] == layout
        assert layout.cylinders == tuple(range(1, len(named.cylinders) + 1))
        pins = {(c.pin_deg % 360.0, c.position) for c in named.cylinders}
        assert len(layout.throws) == len(pins)
        spread = layout.throws[-1].position_mm - layout.throws[0].position_mm
        first, last = (c.position for c in (named.cylinders[0], named.cylinders[-1]))
        assert spread == pytest.approx(110.0 * (last - first))


def test_sets_of_parts_to_choose_from() -> None:
    names = {key: [kind.name for kind in kinds_of(key)] for key, _ in CHOICES}
    assert names[NOTHING] == []
    assert "rod_big_end" in names[BOTH_ENDS]
    assert "rod_whole" not in names[BOTH_ENDS]
    (piston, *_rest) = kinds_of(BOTH_ENDS, nominals_g={"piston": 586.0})
    assert piston.nominal_g == 586.0
    with pytest.raises(KeyError):
        kinds_of("all")
