"""The demo's world: a rescue boat's engine at the yard of Skerry Sound. Invented, and told so everywhere."""

from __future__ import annotations

from bench.models.job import CorrectionPlane, EngineLayout, JobSpec, PartKind, PartRole, Throw, Tolerance


def v8_crossplane() -> EngineLayout:
    """Return a 90 degree V8 with a cross-plane crank, two rods a pin.

    Returns
    -------
    EngineLayout
        Throws at 0, 90, 270 and 180 degrees, cylinders 1 and 2 on the first.
    """
    pins = (0.0, 90.0, 270.0, 180.0)
    return EngineLayout(
        name="V8 90 degrees, cross-plane",
        bank_deg=90.0,
        throws=tuple(
            Throw(number=i + 1, pin_deg=pin, cylinders=(2 * i + 1, 2 * i + 2), position_mm=60.0 + 110.0 * i)
            for i, pin in enumerate(pins)
        ),
    )


def usual_kinds() -> tuple[PartKind, ...]:
    """Return the kinds of part a job with pistons and rods weighs, in the order they are weighed.

    Returns
    -------
    tuple[PartKind, ...]
        Six kinds a cylinder and the shells a throw.
    """
    reciprocating = PartRole.RECIPROCATING
    return (
        PartKind(name="piston", label="piston", role=reciprocating, limit_g=1.0),
        PartKind(name="pin", label="piston pin", role=reciprocating, limit_g=0.5),
        PartKind(name="rings", label="ring set", role=reciprocating, limit_g=0.5, hint="with the oil ring's spacer"),
        PartKind(name="locks", label="lock pair", role=reciprocating, hint="both locks of one pin together"),
        PartKind(name="rod_whole", label="whole rod", role=PartRole.ROD_WHOLE, limit_g=1.0),
        PartKind(
            name="rod_small_end",
            label="rod small end",
            role=PartRole.ROD_SMALL_END,
            limit_g=1.0,
            hint="big end hung level, small end on the scale",
        ),
        PartKind(
            name="rod_bearings",
            label="bearing shells",
            role=PartRole.ROTATING,
            per="throw",
            hint="all shells of both rods together",
        ),
    )


def demo_spec() -> JobSpec:
    """Return the demo job: a volunteer sea-rescue boat's 5.3 litre V8.

    Returns
    -------
    JobSpec
        Marked as simulated.
    """
    return JobSpec(
        title="Rescue boat, port engine",
        customer="Skerry Sound rescue station",
        engine="5.3 litre 90 degree V8 marine engine",
        serial="SIMULATED-1",
        layout=v8_crossplane(),
        kinds=usual_kinds(),
        reciprocating_share=0.5,
        oil_g=6.0,
        rotor_mass_kg=31.5,
        speed_rpm=4600.0,
        planes=(
            CorrectionPlane(name="front", radius_mm=90.0, position_mm=0.0, centre_deg=180.0, arc_deg=110.0),
            CorrectionPlane(name="rear", radius_mm=90.0, position_mm=450.0, centre_deg=0.0, arc_deg=110.0),
        ),
        tolerance=Tolerance(shop_limit_g=1.0, bobweight_g=0.1),
        simulated=True,
    )
