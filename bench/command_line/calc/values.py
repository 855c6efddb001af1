"""What the JSON models of all subjects share."""

from __future__ import annotations

from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

from bench.computation.vectors import Vector

LARGEST = 1e15
"""Largest number that is taken: in any unit of a workshop far beyond what is weighed, turned or measured, and small
enough that an angle still has a direction."""

Number = Annotated[float, Field(ge=-LARGEST, le=LARGEST, allow_inf_nan=False)]
Positive = Annotated[float, Field(gt=0, le=LARGEST, allow_inf_nan=False)]
NotNegative = Annotated[float, Field(ge=0, le=LARGEST, allow_inf_nan=False)]
Share = Annotated[float, Field(ge=0, le=1, allow_inf_nan=False)]


class CalcValue(BaseModel):
    """A frozen JSON object that refuses unknown fields, numbers in quotes, and numbers that are not finite."""

    model_config = ConfigDict(
        frozen=True,
        extra="forbid",
        strict=True,
        allow_inf_nan=False,
        validate_by_name=True,
        serialize_by_alias=True,
        defer_build=True,
    )


class VectorValue(CalcValue):
    """An amount at an angle in degrees, counter-clockwise positive."""

    amount: Number
    angle_deg: Number

    @property
    def vector(self) -> Vector:
        """The vector computed with."""
        return Vector(self.amount, self.angle_deg)

    @classmethod
    def of(cls, vector: Vector) -> VectorValue:
        """Return the JSON value of a vector.

        Parameters
        ----------
        vector : Vector
            Computed.

        Returns
        -------
        VectorValue
            Ready to be written.
        """
        return cls(amount=vector.amount, angle_deg=vector.angle_deg)


def vector_values(vectors: tuple[Vector, ...]) -> tuple[VectorValue, ...]:
    """Return the JSON values of vectors.

    Parameters
    ----------
    vectors : tuple[Vector, ...]
        Computed.

    Returns
    -------
    tuple[VectorValue, ...]
        In the same order.
    """
    return tuple(VectorValue.of(vector) for vector in vectors)
