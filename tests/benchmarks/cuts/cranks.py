"""Seeded cranks for judging cut planners: point masses in Cartesian coordinates and SI units, nothing of the planner's.

A crank is what is out of balance in two planes, two end counterweights with an arc of metal each, and a drill that
strays. Metal goes as a point mass at a radius and a place along the shaft; statics carry it to the two planes.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import nnls

LENGTH_M = 0.450
RADIUS_M = 0.090
MOST_PER_END_KG = 0.126
HOLE_ROOM_G = 60.0
MOST_HOLES = 4
GAP_DEG = 14.0
PITCH_M = 0.020  # between the two places along the shaft where the drill can stand at an end; their holes do not meet

Reals = NDArray[np.float64]


@dataclass(frozen=True)
class World:
    """What kind of cranks, drills and machine there are."""

    noise_g: float = 0.1
    gain: float = 0.01
    phase_deg: float = 1.0
    own: float = 0.14
    own_position: float = 0.05
    own_turned_deg: float = 2.0
    cross_from: float = -0.10
    cross_to: float = 0.30
    cross_known: float | None = None
    arc_deg: float = 120.0
    start_g: tuple[float, float] = (20.0, 150.0)
    drill_share: float = 0.03
    drill_g: float = 0.15
    drill_deg: float = 1.5
    tolerance_g: float = 1.0


@dataclass
class TrueHole:
    asked_deg: float
    angle_rad: float
    position: int
    grams: float = 0.0


@dataclass
class Crank:
    """One real crank on one real machine."""

    world: World
    group: int
    middles_rad: tuple[float, float]
    radii_m: tuple[float, float]
    places_m: tuple[float, float]
    position_scales: tuple[tuple[float, float], tuple[float, float]]
    turned_rad: tuple[float, float]
    gains: tuple[float, float]
    phases_rad: tuple[float, float]
    cross_told: tuple[float, float]
    out_kg_m: Reals
    noise: np.random.Generator
    drill: np.random.Generator
    holes: tuple[list[TrueHole], list[TrueHole]] = field(default_factory=lambda: ([], []))

    def effect(self, end: int, position: int = 0) -> Reals:
        """Return what a unit mass taken at an end at angle 0 takes off x and y of both planes [m]."""
        inward = PITCH_M * position * (1 if end == 0 else -1)
        share = (self.places_m[end] + inward) / LENGTH_M
        radius, turn = self.radii_m[end] * self.position_scales[end][position], self.turned_rad[end]
        arm = radius * np.array([math.cos(turn), math.sin(turn)])
        return np.concatenate([arm * (1.0 - share), arm * share])

    def drilled(self, end: int, *, position: int = 0, angle_deg: float, grams: float) -> None:
        """Take metal away, as well as hands can; a hole within a third of a gap of another is that hole, deepened."""
        strays = self.drill.standard_normal(3)
        world = self.world
        hole = next(
            (
                h
                for h in self.holes[end]
                if h.position == position and abs((angle_deg - h.asked_deg + 180) % 360 - 180) < GAP_DEG / 3
            ),
            None,
        )
        if hole is None:
            hole = TrueHole(angle_deg, math.radians(angle_deg + world.drill_deg * strays[2]), position)
            self.holes[end].append(hole)
        taken = max(0.0, grams * (1.0 + world.drill_share * strays[0]) + world.drill_g * strays[1])
        hole.grams += taken
        self.take(end, position=position, angle_rad=hole.angle_rad, grams=taken)

    def take(self, end: int, *, position: int = 0, angle_rad: float, grams: float) -> None:
        """Take a point mass away."""
        turn = np.array([[math.cos(angle_rad), -math.sin(angle_rad)], [math.sin(angle_rad), math.cos(angle_rad)]])
        moment = self.effect(end, position)
        self.out_kg_m[:2] -= grams / 1000.0 * turn @ moment[:2]
        self.out_kg_m[2:] -= grams / 1000.0 * turn @ moment[2:]

    def true_g(self) -> tuple[complex, complex]:
        """Return what is truly out, in grams at the correction radius."""
        x = self.out_kg_m * 1000.0 / RADIUS_M
        return complex(x[0], x[1]), complex(x[2], x[3])

    def worst_g(self) -> float:
        return max(abs(v) for v in self.true_g())

    def read(self, *, exact: bool = False) -> tuple[complex, complex]:
        """Return what the machine shows."""
        shown = []
        for value, gain, phase in zip(self.true_g(), self.gains, self.phases_rad, strict=True):
            n = self.noise.standard_normal(2) * self.world.noise_g
            if exact:
                shown.append(value)
            else:
                shown.append(value * gain * complex(math.cos(phase), math.sin(phase)) + complex(n[0], n[1]))
        return shown[0], shown[1]

    def can_be_finished(self) -> bool:
        """Tell whether taking metal within the arcs, as much as it may be, can bring both planes inside."""
        rays = []
        half = math.radians(self.world.arc_deg / 2.0)
        for end in (0, 1):
            for edge, position in ((-half, 0), (half, 0), (-half, 1), (half, 1)):
                moment = self.effect(end, position) / RADIUS_M
                angle = self.middles_rad[end] + edge
                turn = np.array([[math.cos(angle), -math.sin(angle)], [math.sin(angle), math.cos(angle)]])
                rays.append(np.concatenate([turn @ moment[:2], turn @ moment[2:]]))
        matrix = np.array(rays).T
        out = self.out_kg_m * 1000.0 / RADIUS_M
        weights = np.ones(2)
        # least squares first; then planes are weighed against each other until the worse one is as small as it gets
        for _ in range(12):
            scale = np.repeat(weights, 2)
            amounts, _ = nnls(matrix * scale[:, None], out * scale)
            left = out - matrix @ amounts
            planes = np.array([math.hypot(left[0], left[1]), math.hypot(left[2], left[3])])
            if planes.max() <= self.world.tolerance_g:
                return True
            if math.hypot(planes[0], planes[1]) > 1.5 * self.world.tolerance_g and _ == 0:
                return False
            weights = weights * (0.3 + planes / planes.max())
            weights /= weights.max()
        return False

    def needs_kg(self) -> list[tuple[float, float]]:
        """Return amount [kg] and angle [rad] that would have to go at each end to leave nothing."""
        shares = np.array([[1 - z / LENGTH_M for z in self.places_m], [z / LENGTH_M for z in self.places_m]])
        arms = [r * complex(math.cos(t), math.sin(t)) for r, t in zip(self.radii_m, self.turned_rad, strict=True)]
        out = np.array([complex(*self.out_kg_m[:2]), complex(*self.out_kg_m[2:])])
        moments = np.linalg.solve(shares, out)
        needs = [m / a for m, a in zip(moments, arms, strict=True)]
        return [(abs(n), math.atan2(n.imag, n.real)) for n in needs]


def draw_crank(world: World, *, seed: int, number: int) -> Crank:
    """Draw the crank of a seed and number; cranks that nobody could finish by taking metal are drawn again."""
    root = np.random.SeedSequence([seed, number])
    draws, noise, drill = (np.random.default_rng(s) for s in root.spawn(3))
    group = (0, 90, 180)[number % 3]
    half = math.radians(world.arc_deg / 2.0)
    while True:
        front = draws.uniform(0, 2 * math.pi)
        rear = front + math.radians(group + draws.uniform(-10, 10))
        own = [max(0.3, 1.0 + world.own * draws.standard_normal()) for _ in range(2)]
        cross = [draws.uniform(world.cross_from, world.cross_to) for _ in range(2)]
        middle = (world.cross_from + world.cross_to) / 2.0
        told = [middle if world.cross_known is None else c + world.cross_known * draws.standard_normal() for c in cross]
        # own effect `own` and effect on the far plane `own * cross` mean this radius and this place, by the lever rule
        radii = [RADIUS_M * o * (1 + c) for o, c in zip(own, cross, strict=True)]
        insets = [LENGTH_M * c / (1 + c) for c in cross]
        edge = half - math.radians(12.0)
        amounts = [draws.uniform(*world.start_g) / 1000.0 for _ in range(2)]
        angles = [m + draws.uniform(-edge, edge) for m in (front, rear)]
        out = np.concatenate(
            [RADIUS_M * a * np.array([math.cos(w), math.sin(w)]) for a, w in zip(amounts, angles, strict=True)]
        )
        crank = Crank(
            world=world,
            group=group,
            middles_rad=(front, rear),
            radii_m=(radii[0], radii[1]),
            places_m=(insets[0], LENGTH_M - insets[1]),
            position_scales=tuple(
                tuple(1.0 + world.own_position * draws.standard_normal() for _ in range(2)) for _ in range(2)
            ),
            turned_rad=tuple(math.radians(world.own_turned_deg) * draws.standard_normal() for _ in range(2)),
            gains=tuple(1.0 + world.gain * draws.standard_normal() for _ in range(2)),
            phases_rad=tuple(math.radians(world.phase_deg) * draws.standard_normal() for _ in range(2)),
            cross_told=(told[0], told[1]),
            out_kg_m=out,
            noise=noise,
            drill=drill,
        )
        fits = all(
            kg <= MOST_PER_END_KG and math.cos(angle - middle_rad) >= math.cos(half)
            for (kg, angle), middle_rad in zip(crank.needs_kg(), crank.middles_rad, strict=True)
        )
        if fits:
            return crank
