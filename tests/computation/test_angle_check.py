"""What a machine's angles mean: machines made up by hand, with a known mass on them."""

from __future__ import annotations

import cmath
import math

import numpy as np
import pytest

from bench.computation.angle_check import check_angles
from bench.computation.errors import QuantityError


def at(amount: float, angle_deg: float) -> complex:
    return cmath.rect(amount, math.radians(angle_deg))


def shown(
    truth: complex, *, mirrored: bool = False, zero_deg: float = 0.0, missing: bool = False, share: float = 1.0
) -> complex:
    """Return what such a machine prints of an excess: its angle counted its way from its zero."""
    angle = math.degrees(cmath.phase(truth)) - zero_deg
    angle = -angle if mirrored else angle
    return at(share * abs(truth), angle + (180.0 if missing else 0.0))


@pytest.mark.parametrize("mirrored", [False, True])
@pytest.mark.parametrize("zero_deg", [0.0, 90.0, -37.0])
@pytest.mark.parametrize("missing", [False, True])
def test_every_meaning_is_found(*, mirrored: bool, zero_deg: float, missing: bool) -> None:
    # 7 g at 200 degrees are out already; 5 g are fastened at 10 and at 100 degrees
    own = at(7.0, 200.0)
    runs = [shown(own + at(5.0, a), mirrored=mirrored, zero_deg=zero_deg, missing=missing) for a in (10.0, 100.0)]
    without = shown(own, mirrored=mirrored, zero_deg=zero_deg, missing=missing)
    check = check_angles([without], [[r] for r in runs], plane_index=0, mass_g=5.0, at_deg=[10.0, 100.0])
    assert check.clear
    assert check.mirrored is mirrored
    assert check.share_shown == pytest.approx(1.0)
    assert check.misfit_g == pytest.approx(0.0, abs=1e-9)
    # what is printed, put right as the check says, is where the mass is
    printed = -cmath.phase(without) if check.mirrored else cmath.phase(without)
    right = (math.degrees(printed) + check.turned_by_deg) % 360.0
    assert right == pytest.approx(200.0)
    assert check.agrees() is (not mirrored and not missing and zero_deg == 0.0)


def test_what_is_wrong_is_told_in_words() -> None:
    def words(**how: object) -> str:
        runs = [[shown(at(4.0, a), **how), 0j] for a in (0.0, 90.0)]  # type: ignore[arg-type]
        return check_angles([0j, 0j], runs, plane_index=0, mass_g=4.0, at_deg=[0.0, 90.0]).in_words()

    assert "the profile is right" in words()
    assert "other way round" in words(mirrored=True)
    assert "missing" in words(missing=True)
    assert "+35°" in words(zero_deg=35.0)
    assert "2.00 g are shown for a gram" in words(share=2.0)
    swapped = check_angles([0j, 0j], [[0j, 4 + 0j], [0j, 4j]], plane_index=0, mass_g=4.0, at_deg=[0.0, 90.0])
    assert swapped.planes_swapped
    assert "exchanged" in swapped.in_words()
    assert not swapped.agrees()


def test_the_far_plane_is_told() -> None:
    check = check_angles([0j, 0j], [[4 + 0j, 0.4 + 0j], [4j, 0.4j]], plane_index=0, mass_g=4.0, at_deg=[0.0, 90.0])
    assert check.far_share == pytest.approx(0.1)
    assert check.agrees()


def test_noise_as_large_as_the_mass_is_not_clear() -> None:
    rng = np.random.default_rng(3)
    unclear = 0
    for _ in range(50):
        noise = rng.standard_normal((3, 2)) @ np.array([1.0, 1j])
        runs = [[0.5 * cmath.exp(1j * math.radians(a)) + n] for a, n in zip((0.0, 90.0), noise[1:], strict=True)]
        unclear += not check_angles([noise[0]], runs, plane_index=0, mass_g=0.5, at_deg=[0.0, 90.0]).clear
    assert unclear > 30
    # ten times the noise: the sense is told rightly each time
    for _ in range(50):
        noise = rng.standard_normal((3, 2)) @ np.array([1.0, 1j])
        runs = [[20.0 * cmath.exp(-1j * math.radians(a)) + n] for a, n in zip((0.0, 90.0), noise[1:], strict=True)]
        check = check_angles([noise[0]], runs, plane_index=0, mass_g=20.0, at_deg=[0.0, 90.0])
        assert check.clear
        assert check.mirrored


@pytest.mark.parametrize(
    ("runs", "angles", "plane", "mass", "word"),
    [
        ([[1j]], [0.0], 0, 1.0, "two runs"),
        ([[1j], [1 + 0j]], [0.0], 0, 1.0, "one a run"),
        ([[1j], [1 + 0j]], [0.0, 180.0], 0, 1.0, "not opposite"),
        ([[1j], [1 + 0j]], [0.0, 5.0], 0, 1.0, "well apart"),
        ([[1j], [1 + 0j]], [0.0, 90.0], 1, 1.0, "plane_index"),
        ([[1j], [1 + 0j]], [0.0, 90.0], 0, 0.0, "mass_g"),
        ([[1j, 1j], [1 + 0j]], [0.0, 90.0], 0, 1.0, "planes"),
        ([[0j], [0j]], [0.0, 90.0], 0, 1.0, "nothing changed"),
        ([[complex(math.nan, 0.0)], [0j]], [0.0, 90.0], 0, 1.0, "finite"),
    ],
)
def test_what_tells_nothing_is_refused(
    runs: list[list[complex]], angles: list[float], plane: int, mass: float, word: str
) -> None:
    with pytest.raises(QuantityError, match=word):
        check_angles([0j], runs, plane_index=plane, mass_g=mass, at_deg=angles)
