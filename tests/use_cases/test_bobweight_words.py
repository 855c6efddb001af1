"""What is said of a bobweight that is on disk."""

from __future__ import annotations

from decimal import Decimal

import pytest

from bench.capture.decisions import Taken
from bench.use_cases.weigh_words import bobweight_words


@pytest.mark.parametrize(("doubtful", "said"), [(False, False), (True, True)])
def test_a_bobweight_that_is_not_sure_beside_its_band_is_said_to_be_so(doubtful: bool, said: bool) -> None:
    taken = Taken(
        at_ns=1,
        key="bobweight 2",
        shown=Decimal("2317.8"),
        unit="g",
        grams=Decimal("2317.8"),
        refined_g=2317.83,
        standard_uncertainty_g=0.09,
        doubtful=doubtful,
        raw=(),
    )
    words = bobweight_words(2, taken, 2317.83, 61)
    assert words.startswith("taken: bobweight 2, 2317.8 g, target 2317.83 g, off -0.03 g (entry 61)")
    assert ("uncertain, ± 0.18 g" in words) is said
