"""What a machine's angles mean: machines made up by hand, with a known mass on them."""

from __future__ import annotations

import cmath
import math
from dataclasses import replace

import numpy as np
import pytest

from bench.computation.angle_check import AngleCheck, check_angles
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


UNTOLD = AngleCheck(
    mirrored=False,
    turned_by_deg=0.0,
    share_shown=1.0,
    far_share=0.0,
    misfit_g=0.0,
    clear=False,
    planes_swapped=False,
)
TOLD = replace(UNTOLD, clear=True)
ROUND = "the angles go the other way round than the profile says"
HALF = "the readout shows where mass is missing where the profile says excess, or the other way round"


@pytest.mark.parametrize(
    ("check", "words"),
    [
        (
            UNTOLD,
            "the runs do not tell which way the angles go: fasten a larger mass, farther apart in angle, and run again",
        ),
        (
            replace(TOLD, turned_by_deg=-9.6, share_shown=0.97),
            "the profile is right: angles within 10°, 0.97 g shown for a gram",
        ),
        (
            replace(TOLD, planes_swapped=True),
            "the mass shows in the other plane: the names of the planes are exchanged",
        ),
        (replace(TOLD, mirrored=True), ROUND),
        (replace(TOLD, mirrored=True, turned_by_deg=-90.0), f"{ROUND}; the zero is -90° from where the profile says"),
        # at the edges: ten degrees off half a turn is half a turn, a little more is a zero of its own
        (replace(TOLD, turned_by_deg=170.0), HALF),
        (replace(TOLD, turned_by_deg=-170.0), HALF),
        (replace(TOLD, turned_by_deg=169.4), "the zero is +169° from where the profile says"),
        (replace(TOLD, turned_by_deg=10.5), "the zero is +10° from where the profile says"),
        (replace(TOLD, mirrored=True, turned_by_deg=10.0), ROUND),
        (
            replace(TOLD, share_shown=0.5),
            "0.50 g are shown for a gram: check the unit, the correction radius and the machine's own setting",
        ),
        (replace(TOLD, mirrored=True, share_shown=1.15), ROUND),
    ],
)
def test_the_very_words(check: AngleCheck, words: str) -> None:
    assert check.in_words() == words


@pytest.mark.parametrize(
    ("change", "right"),
    [
        ({}, True),
        ({"turned_by_deg": 10.0}, True),
        ({"turned_by_deg": -10.01}, False),
        ({"share_shown": 1.125}, True),
        ({"share_shown": 0.84}, False),
        ({"mirrored": True}, False),
        ({"planes_swapped": True}, False),
        ({"clear": False}, False),
    ],
)
def test_what_agrees(change: dict[str, float], right: object) -> None:
    assert replace(TOLD, **change).agrees() is right  # type: ignore[arg-type]


def test_what_is_allowed_can_be_set_and_includes_its_edge() -> None:
    off = replace(TOLD, turned_by_deg=-4.0, share_shown=1.25)
    assert off.agrees(within_deg=4.0, within_share=0.25)
    assert not off.agrees(within_deg=3.9, within_share=0.25)
    assert not off.agrees(within_deg=4.0, within_share=0.24)


@pytest.mark.parametrize(
    ("runs", "angles", "plane", "said"),
    [
        ([[1j]], [0.0], 0, ("runs", 1, "at least two runs with the mass")),
        ([[1j], [1j], [1j]], [0.0, 90.0], 0, ("at_deg", "2 angles", "one a run, 3")),
        ([[1j], [1j]], [0.0, 90.0], 1, ("plane_index", 1, "0 to 0")),
        ([[1j], [1j]], [0.0, 90.0], -1, ("plane_index", -1, "0 to 0")),
        ([[1j], [1j, 1j]], [0.0, 90.0], 0, ("runs[1]", "2 planes", "1, as without the mass")),
        ([[0j], [0j]], [0.0, 90.0], 0, ("runs", "nothing changed by the mass", "runs with the mass on the rotor")),
        (
            [[1j], [1j]],
            [15.0, 195.0],
            0,
            ("at_deg", [15.0, 195.0], "angles well apart and not opposite, best 90 degrees"),
        ),
    ],
)
def test_a_refusal_names_what_where_and_what_is_wanted(
    runs: list[list[complex]], angles: list[float], plane: int, said: tuple[object, ...]
) -> None:
    with pytest.raises(QuantityError) as fault:
        check_angles([0j], runs, plane_index=plane, mass_g=1.0, at_deg=angles)
    assert (fault.value.quantity, fault.value.found, fault.value.wanted) == said


def test_a_number_that_cannot_be_is_named() -> None:
    for runs, angles, mass, name in (
        ([[1j], [complex(math.inf, 0.0)]], [0.0, 90.0], 1.0, "runs[1]"),
        ([[1j], [1 + 0j]], [0.0, math.nan], 1.0, "at_deg"),
        ([[1j], [1 + 0j]], [0.0, 90.0], -1.0, "mass_g"),
    ):
        with pytest.raises(QuantityError) as fault:
            check_angles([0j], runs, plane_index=0, mass_g=mass, at_deg=angles)
        assert fault.value.quantity == name


def test_planes_are_exchanged_only_when_the_other_shows_half_as_much_again() -> None:
    def swapped(near: float, far: float) -> bool:
        runs = [[at(near, a), at(far, a)] for a in (0.0, 90.0)]
        return check_angles([0j, 0j], runs, plane_index=0, mass_g=1.0, at_deg=[0.0, 90.0]).planes_swapped

    assert not swapped(1.0, 0.2)
    assert not swapped(1.0, 1.4)
    assert not swapped(1.0, 0.0)
    assert swapped(1.0, 1.6)
    # both planes show the same: nothing is exchanged, and the far share is that of the other plane
    alike = check_angles([0j, 0j], [[1 + 0j, 1 + 0j], [1j, 1j]], plane_index=1, mass_g=1.0, at_deg=[0.0, 90.0])
    assert not alike.planes_swapped
    assert alike.far_share == pytest.approx(1.0)


def test_one_plane_has_no_far_one_and_a_rotor_that_shows_nothing_is_not_clear() -> None:
    one = check_angles([0j], [[1 + 0j], [1j]], plane_index=0, mass_g=1.0, at_deg=[0.0, 90.0])
    assert one.far_share == 0.0
    faint = check_angles([0j], [[0.04 + 0j], [0.04j]], plane_index=0, mass_g=1.0, at_deg=[0.0, 90.0])
    assert not faint.clear
    assert check_angles([0j], [[0.06 + 0j], [0.06j]], plane_index=0, mass_g=1.0, at_deg=[0.0, 90.0]).clear


@pytest.mark.parametrize("apart_deg", [19.0, 21.0, 159.0, 161.0])
def test_twenty_degrees_apart_are_enough(apart_deg: float) -> None:
    # the sum of these angles is far from any half turn: only how far they are apart counts
    angles = [50.0, 50.0 + apart_deg]
    runs = [[at(1.0, a)] for a in angles]
    if apart_deg in {19.0, 161.0}:
        with pytest.raises(QuantityError, match="well apart"):
            check_angles([0j], runs, plane_index=0, mass_g=1.0, at_deg=angles)
    else:
        assert check_angles([0j], runs, plane_index=0, mass_g=1.0, at_deg=angles).agrees()
