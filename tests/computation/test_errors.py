"""The error of the computations keeps its parts, for callers that word it anew."""

from __future__ import annotations

from bench.computation.errors import QuantityError


def test_each_part_is_kept_as_given() -> None:
    found = ["3", None]

    error = QuantityError("weights_g[2]", found=found, wanted="a number")

    assert error.quantity == "weights_g[2]"
    assert error.found is found
    assert error.wanted == "a number"
