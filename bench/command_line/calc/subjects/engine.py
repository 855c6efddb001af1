"""`calc engine`."""

from __future__ import annotations

from typing import Annotated, Self

from pydantic import Field, model_validator

from bench.command_line.calc.subject import Subject
from bench.command_line.calc.values import CalcValue, NotNegative, Number, Positive, Share, VectorValue
from bench.computation.engine import MOST_CYLINDERS, Cylinder, Order, TurningPair, engine_inertia
from bench.computation.engine_forces import RunningEngine, left_over
from bench.computation.engine_layouts import layout_named, share_advice


class CylinderValue(CalcValue):
    """Pin, bank and position of a cylinder."""

    pin_deg: Number
    bank_deg: Number
    position: Number


class Running(CalcValue):
    """Figures that turn multiples into newtons."""

    reciprocating_g: NotNegative
    crank_radius_mm: Positive
    rod_length_mm: Positive
    speed_rpm: Positive
    mm_per_position: Positive
    reciprocating_share: Share


class Asked(CalcValue):
    """A layout by its cylinders or by name, and how it runs."""

    cylinders: Annotated[tuple[CylinderValue, ...], Field(min_length=1, max_length=MOST_CYLINDERS)] | None = None
    layout: str | None = None
    lambda_: Annotated[float | None, Field(gt=0, lt=1, alias="lambda")] = None
    running: Running | None = None

    @model_validator(mode="after")
    def _one_layout(self) -> Self:
        if (self.cylinders is None) == (self.layout is None):
            raise ValueError("either cylinders or the name of a layout")
        return self


class Pair(CalcValue):
    """A force or couple as two turning vectors."""

    forward: VectorValue
    backward: VectorValue
    peak: float
    least: float
    peak_direction_deg: float


class OrderValue(CalcValue):
    """Force and couple of one order."""

    force: Pair
    couple: Pair


class Rotating(CalcValue):
    """Force and couple of a unit mass on each pin."""

    force: VectorValue
    couple: VectorValue


class Advice(CalcValue):
    """Share to start from and what it leaves."""

    bobweights_needed: bool
    reciprocating_share: float
    force_left: float
    couple_left: float
    second_force_left: float
    second_couple_left: float


class LeftOverValue(CalcValue):
    """Ellipses in N and N m."""

    first_order: OrderValue
    second_order: OrderValue


class Answered(CalcValue):
    """In multiples of m r omega^2; the second order without lambda."""

    rotating: Rotating
    first_order: OrderValue
    second_order: OrderValue
    second_order_times_lambda: OrderValue | None = None
    advice: Advice
    left_over_newtons: LeftOverValue | None = None


def answer(asked: Asked) -> Answered:
    """Return the inertia of the layout.

    Parameters
    ----------
    asked : Asked
        The layout.

    Returns
    -------
    Answered
        Each order as turning vectors.
    """
    if asked.cylinders is None:
        cylinders = layout_named(asked.layout or "").cylinders
    else:
        cylinders = tuple(
            Cylinder(pin_deg=c.pin_deg, bank_deg=c.bank_deg, position=c.position) for c in asked.cylinders
        )
    inertia, advice = engine_inertia(cylinders), share_advice(cylinders)
    left = None
    if asked.running is not None:
        running = asked.running
        over = left_over(
            inertia,
            RunningEngine(
                reciprocating_g=running.reciprocating_g,
                crank_radius_mm=running.crank_radius_mm,
                rod_length_mm=running.rod_length_mm,
                speed_rpm=running.speed_rpm,
                mm_per_position=running.mm_per_position,
            ),
            reciprocating_share=running.reciprocating_share,
        )
        left = LeftOverValue(first_order=_order(over.first_order), second_order=_order(over.second_order))
    return Answered(
        rotating=Rotating(force=VectorValue.of(inertia.rotating_force), couple=VectorValue.of(inertia.rotating_couple)),
        first_order=_order(inertia.first_order),
        second_order=_order(inertia.second_order),
        second_order_times_lambda=None if asked.lambda_ is None else _order(inertia.second_order, times=asked.lambda_),
        advice=Advice(
            bobweights_needed=advice.bobweights_needed,
            reciprocating_share=advice.reciprocating_share,
            force_left=advice.force_left,
            couple_left=advice.couple_left,
            second_force_left=advice.second_force_left,
            second_couple_left=advice.second_couple_left,
        ),
        left_over_newtons=left,
    )


def _order(order: Order, *, times: float = 1.0) -> OrderValue:
    return OrderValue(force=_pair(order.force, times), couple=_pair(order.couple, times))


def _pair(pair: TurningPair, times: float) -> Pair:
    scaled = pair if times == 1.0 else pair.scaled(forward=times, backward=times)
    return Pair(
        forward=VectorValue.of(scaled.forward),
        backward=VectorValue.of(scaled.backward),
        peak=scaled.peak,
        least=scaled.least,
        peak_direction_deg=scaled.peak_direction_deg,
    )


SUBJECT = Subject(
    words="inertia of an engine layout: orders of force and couple, turning with and against the crank",
    asked=Asked,
    answered=Answered,
    answer=answer,
    example="""\
{"cylinders": [{"pin_deg": 0, "bank_deg": -45, "position": 0}, {"pin_deg": 0, "bank_deg": 45, "position": 0}]}""",
    example_answer="""\
{"rotating": {"force": {"amount": 2.0, "angle_deg": 0.0}, "couple": {"amount": 0.0, "angle_deg": 0.0}},
 "first_order": {"force": {"forward": {"amount": 1.0, "angle_deg": 0.0}, "backward": {"amount": 0.0,
 "angle_deg": 0.0}, "peak": 1.0, "least": 1.0, "peak_direction_deg": 0.0},
 "couple": {"forward": {"amount": 0.0, "angle_deg": 0.0}, "backward": {"amount": 0.0, "angle_deg": 0.0},
 "peak": 0.0, "least": 0.0, "peak_direction_deg": 0.0}},
 "second_order": {"force": {"forward": {"amount": 0.7071067811865476, "angle_deg": 0.0},
 "backward": {"amount": 0.7071067811865475, "angle_deg": 180.0}, "peak": 1.414213562373095,
 "least": 1.1102230246251565e-16, "peak_direction_deg": 90.0}, "couple": {"forward": {"amount": 0.0,
 "angle_deg": 0.0}, "backward": {"amount": 0.0, "angle_deg": 0.0}, "peak": 0.0, "least": 0.0,
 "peak_direction_deg": 0.0}}, "advice": {"bobweights_needed": true, "reciprocating_share": 0.5,
 "force_left": 0.0, "couple_left": 0.0, "second_force_left": 1.414213562373095, "second_couple_left": 0.0}}""",
    fields={
        "reciprocating_g": "running.reciprocating_g",
        "rod_length_mm": "running.rod_length_mm",
    },
)
