"""The next cuts: both planes at once, short of what could go too far, in few holes, with their chances.

A plan is made in three steps: how much to take in each plane (`cut_aim`), in which holes (`cut_holes`), and with
which chances (`cut_chances`). When metal cannot be taken where it would have to go, heavy metal is proposed.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from bench.computation.answer_model import AnswerModel
from bench.computation.answer_model_forecast import Forecast
from bench.computation.checks import positive
from bench.computation.cut_aim import aim_for
from bench.computation.cut_chances import chance_done, chance_too_far, likely_cases
from bench.computation.cut_heavy_metal import HeavyMetal, heavy_metal_for
from bench.computation.cut_holes import cuts_for
from bench.computation.cut_reach import Reach, reach_of
from bench.computation.cut_scatter import Cut
from bench.computation.cut_sites import PlaneTask
from bench.computation.errors import QuantityError

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Complexes = NDArray[np.complex128]

_PASSES = 2
_SETTLED = 0.02
_LESS = (1.0, 0.6, 0.3, 0.1, 0.0)
_PROMISING = 0.3
_HOPELESS = 0.05
_WORTH_A_LOOK = 0.03
_OUT_OF_REACH = 0.5
_METAL_LATER = "part of what is left is where no cut reaches: heavy metal will be needed after this"
_ANSWERS_ENOUGH = 2
_FAR = 15.0
_NEAR = 5.0
_GUARDED = 0.8
_GETS_ON = 0.3
_UNTESTED = "short on purpose until its answer is known; "


@dataclass(frozen=True, slots=True)
class CutLimits:
    """What a plan has to keep.

    Attributes
    ----------
    deviations : float
        How many standard deviations to stay short of going too far. After the first answer the model also allows for
        effects that are known less than believed: where they are as believed, 2.85 of its deviations are about 3.4.
    first_deviations : float
        The same while no answer to a cut has tested the geometry, which is then doubted besides.
    later_deviations : float
        The same once two cuts were answered: little is left then, and staying shorter costs little.
    worst_chance : float
        Chance to go too far, brought by a plan, above which a plan takes less, where it can.
    most_holes : int
        Limit of holes a plane.
    one_plane : bool
        Whether only the heavier plane is cut before the next run.
    price_too_far : float
        How many runs a rotor that was cut too far is worth; weighs haste against care near the end.
    """

    deviations: float = 2.85
    first_deviations: float = 3.1
    later_deviations: float = 3.0
    worst_chance: float = 0.03
    most_holes: int = 4
    one_plane: bool = False
    price_too_far: float = 40.0

    def deviations_for(self, model: AnswerModel) -> float:
        """Return how many standard deviations to stay short with what is known of a rotor.

        Parameters
        ----------
        model : AnswerModel
            What is known.

        Returns
        -------
        float
            By how many cuts were answered: none, one, or more.
        """
        if not model.tested:
            return self.first_deviations
        answers = model.readings - 1 - model.repeats
        return self.deviations if answers < _ANSWERS_ENOUGH else self.later_deviations


@dataclass(frozen=True, slots=True)
class CutPlan:
    """The next cuts, or why there are none.

    Attributes
    ----------
    cuts : tuple[Cut, ...]
        What to take; empty when nothing should be taken now.
    left : tuple[complex, ...]
        What the next run should show. [g]
    uncertainty_g : tuple[float, ...]
        Standard deviation of that, reading noise included, the larger component of each plane. [g]
    chance_done : float
        Chance that the next run passes.
    chance_too_far : float
        Chance that metal would have to be added afterwards.
    why : str
        In words.
    spin_again : bool
        Whether a run without a cut is the better next step.
    chance_beyond_now : float
        Chance that metal would have to be added even if nothing more is cut, as far as is known.
    heavy_metal : tuple[HeavyMetal, ...]
        Proposed where taking metal cannot reach the tolerance.
    """

    cuts: tuple[Cut, ...]
    left: tuple[complex, ...]
    uncertainty_g: tuple[float, ...]
    chance_done: float
    chance_too_far: float
    why: str
    spin_again: bool = False
    chance_beyond_now: float = 0.0
    heavy_metal: tuple[HeavyMetal, ...] = ()

    @property
    def chance_added(self) -> float:
        """Chance to go too far that the cuts bring, beyond what stands already."""
        return max(0.0, self.chance_too_far - self.chance_beyond_now)


def plan_cuts(model: AnswerModel, *, tolerance_g: Sequence[float], limits: CutLimits | None = None) -> CutPlan:
    """Return the next cuts for a rotor that is not inside its tolerance.

    Parameters
    ----------
    model : AnswerModel
        What is known, with at least one reading and no cut waiting for its answer.
    tolerance_g : Sequence[float]
        What may stay in each plane. [g]
    limits : CutLimits | None
        What the plan has to keep; None for the usual.

    Returns
    -------
    CutPlan
        Cuts with their forecast, or a run without a cut, or heavy metal, with the reason.

    Raises
    ------
    QuantityError
        If no reading was taken, cuts wait for their answer, or a tolerance cannot be.

    Examples
    --------
    >>> from bench.computation.stations import stations_anywhere
    >>> model = AnswerModel.start(stations_anywhere(["disc"])).first_reading([12.0 + 0j])
    >>> [(c.station, round(c.angle_deg), round(c.grams)) for c in plan_cuts(model, tolerance_g=[1.0]).cuts]
    [('disc', 0, 12)]
    """
    if model.readings == 0:
        raise QuantityError("model", found="no reading", wanted="a first reading before cuts are planned")
    if model.pending:
        raise QuantityError("model", found="cuts without their run", wanted="a run after the last cuts")
    if len(tolerance_g) != model.planes:
        raise QuantityError("tolerance_g", found=f"{len(tolerance_g)} values", wanted=f"{model.planes}, one a plane")
    for index, value in enumerate(tolerance_g):
        positive(value, quantity=f"tolerance_g[{index}]")
    limits = limits if limits is not None else CutLimits()
    sketch = _Sketch(model, tuple(tolerance_g), limits)
    usual = limits.deviations_for(model)
    best = sketch.careful(sketch.plan(usual), usual)
    hasty = best if sketch.is_far_and_unknown else sketch.plan(0.0)
    if hasty.chance_done >= _WORTH_A_LOOK:
        for plan in (*(sketch.plan(k * usual) for k in (0.8, 0.6, 0.3)), hasty):
            if sketch.worth(plan) > sketch.worth(best) + 0.02:
                best = plan
    if not best.cuts:
        best = max(best, hasty, key=lambda plan: (bool(plan.cuts), sketch.worth(plan)))
    again = sketch.judged((), sketch.now())
    promising = again.chance_done >= _PROMISING and sketch.worth(again) >= sketch.worth(best)
    if not best.cuts or promising or sketch.is_idle(best):
        return sketch.without_cut(again)
    return best if best.chance_too_far <= _OUT_OF_REACH else replace(best, why=f"{best.why}; {_METAL_LATER}")


class _Sketch:
    """One planning: the model, what it has to keep, and the plans tried."""

    def __init__(self, model: AnswerModel, tolerance_g: tuple[float, ...], limits: CutLimits) -> None:
        self._model = model
        self._tolerance = tolerance_g
        self._limits = limits
        planes = range(model.planes)
        self._reaches: list[Reach] = [reach_of([s for s in model.stations if s.plane_index == p]) for p in planes]
        self._mix = self._first_mix()

    def _first_mix(self) -> Complexes:
        """Return all of a plane's metal in the station that is known best."""
        import numpy as np

        model = self._model
        mix = np.zeros((len(model.stations), model.planes), dtype=np.complex128)
        for p in range(model.planes):
            mine = [i for i, s in enumerate(model.stations) if s.plane_index == p]
            mix[min(mine, key=lambda i: (round(model.doubt_about(i), 9), i)), p] = 1.0
        return mix

    @property
    def is_far_and_unknown(self) -> bool:
        """Whether no cut can finish now: much is left, and no answer to a cut is known yet."""
        over = max(abs(z) / t for z, t in zip(self._model.left, self._tolerance, strict=True))
        return not self._model.tested and bool(over > _FAR)

    def is_idle(self, plan: CutPlan) -> bool:
        """Tell whether a plan near the end neither finishes nor gets on: the holes that are there point elsewhere."""
        if plan.chance_done >= _WORTH_A_LOOK:
            return False
        gained = 0.0
        for before, after, limit in zip(self._model.left, plan.left, self._tolerance, strict=True):
            if abs(before) > _NEAR * limit:
                return False
            if abs(before) > limit:
                gained = max(gained, (abs(before) - abs(after)) / (abs(before) - _GUARDED * limit))
        return gained < _GETS_ON

    def _drilled_now(self) -> tuple[float, ...]:
        """Return which planes are drilled now: all, or only the heaviest."""
        model = self._model
        if not self._limits.one_plane or model.planes == 1:
            return (1.0,) * model.planes
        over = [abs(z) / t for z, t in zip(model.left, self._tolerance, strict=True)]
        heaviest = over.index(max(over))
        return tuple(float(p == heaviest) for p in range(model.planes))

    def careful(self, plan: CutPlan, deviations: float) -> CutPlan:
        """Return the plan, or one that takes less where it risks too much through the other plane."""
        # a rotor that may be beyond reach already is not made worse by what does not add to that chance
        allowed = self._limits.worst_chance
        if plan.chance_added <= allowed or not plan.cuts:
            return plan
        planes = self._model.planes
        sizes = [abs(z) for z in self._model.left]
        choices = sorted(
            itertools.product(_LESS, repeat=planes),
            key=lambda choice: sum(share * size for share, size in zip(choice, sizes, strict=True)),
            reverse=True,
        )
        plans = [plan]
        for choice in choices[1:-1]:
            less = self.plan(deviations, shares=choice)
            if less.cuts:
                plans.append(less)
            if less.cuts and less.chance_added <= allowed:
                return less
        return min(plans, key=lambda p: p.chance_added)

    def now(self) -> Forecast:
        """Return what a run without a cut would show."""
        model = self._model
        return Forecast(model.left, model.covariance[: 2 * model.planes, : 2 * model.planes])

    def plan(self, deviations: float, *, shares: tuple[float, ...] | None = None) -> CutPlan:
        """Return the plan that stays so many standard deviations short."""
        import numpy as np

        model = self._model
        mix = self._mix
        holes = [2] * model.planes
        cuts: tuple[Cut, ...] = ()
        for _ in range(_PASSES):
            aim = aim_for(
                model,
                mix=mix,
                holes=holes,
                reaches=self._reaches,
                tolerance_g=self._tolerance,
                deviations=deviations,
                shares=(1.0,) * model.planes if shares is None else shares,
            )
            # the margins hold for the whole plan: a plane that waits will move the others when its turn comes
            now = aim.take * np.array(self._drilled_now())
            effects = model.effects @ mix
            parts = [
                cuts_for(
                    model,
                    PlaneTask(
                        p,
                        complex(effects[p, p]),
                        complex(now[p]),
                        complex(aim.wanted[p] - now[p]),
                        self._reaches[p].inward,
                        aim.least[p],
                        likely_cases(complex(aim.wanted[p] - now[p]), aim.spread[p]),
                    ),
                    most_holes=self._limits.most_holes,
                    tolerance_g=self._tolerance[p],
                )
                if abs(now[p]) > 0.0
                else ()
                for p in range(model.planes)
            ]
            cuts = tuple(c for part in parts for c in part)
            counted, mixed = [max(1, len(part)) for part in parts], self._mix_of(parts, mix)
            settled = abs(mixed - mix).max() < _SETTLED
            holes, mix = counted, mixed
            if settled:
                break
        return self.judged(cuts, model.forecast(cuts, doubting=True), mix=mix)

    def _mix_of(self, parts: Sequence[tuple[Cut, ...]], before: Complexes) -> Complexes:
        """Return how the cuts of every plane are shared between stations."""
        model = self._model
        mix = before.copy()
        for p, part in enumerate(parts):
            taken = model.taken_by_station(part)
            total = complex(taken.sum())
            if abs(total) > 0.0:
                mix[:, p] = taken / total
        return mix

    def judged(self, cuts: tuple[Cut, ...], forecast: Forecast, *, mix: Complexes | None = None) -> CutPlan:
        """Return a plan of these cuts with its chances."""
        import numpy as np

        model = self._model
        noise = model.noise_g
        variances = np.diag(forecast.covariance)
        worst = np.sqrt(np.maximum(variances[0::2], variances[1::2]) + noise**2)
        done = chance_done(forecast, noise_g=noise, tolerance_g=self._tolerance)
        far, beyond = (
            chance_too_far(
                model,
                made,
                mix=self._mix if mix is None else mix,
                reaches=self._reaches,
                tolerance_g=self._tolerance,
            )
            for made in (cuts, ())
        )
        short = bool(cuts) and not model.tested and not all(reach.is_round for reach in self._reaches)
        return CutPlan(
            cuts,
            tuple(complex(z) for z in forecast.left),
            tuple(float(w) for w in worst),
            done,
            far,
            f"{_UNTESTED if short else ''}chance to be inside after it {done * 100:.0f} %, "
            f"to have taken too much {max(0.0, far - beyond) * 100:.1f} %",
            chance_beyond_now=beyond,
        )

    def worth(self, plan: CutPlan) -> float:
        """Return what a plan is worth, in runs."""
        return plan.chance_done - self._limits.price_too_far * plan.chance_added

    def without_cut(self, again: CutPlan) -> CutPlan:
        """Return the advice when nothing should be taken: run again, or put metal in."""
        model = self._model
        metal = heavy_metal_for(model, reaches=self._reaches, mix=self._mix, tolerance_g=self._tolerance)
        if metal:
            why = "; ".join(m.why for m in metal)
            return CutPlan(
                (), again.left, again.uncertainty_g, again.chance_done, again.chance_too_far, why, heavy_metal=metal
            )
        if not again.chance_done >= _HOPELESS:
            why = (
                "no cut that is allowed brings it inside: the holes that are there are full or point elsewhere, "
                "and no further hole is allowed; allow one more hole or a deeper one, or put heavy metal in"
            )
            return CutPlan((), again.left, again.uncertainty_g, again.chance_done, again.chance_too_far, why)
        why = (
            f"what is left is within reach of the noise: run again without a cut, "
            f"it passes with a chance of {again.chance_done:.0%}"
        )
        return CutPlan(
            (),
            again.left,
            again.uncertainty_g,
            again.chance_done,
            again.chance_too_far,
            why,
            spin_again=True,
        )
