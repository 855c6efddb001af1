"""One planning: plans that stay more or less short, what they leave, and what each of them is worth."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from bench.computation.answer_model import AnswerModel
from bench.computation.answer_model_forecast import Forecast
from bench.computation.cut_aim import aim_for
from bench.computation.cut_chances import chance_done, chance_too_far, inside_with_guard, likely_cases
from bench.computation.cut_heavy_metal import heavy_metal_for
from bench.computation.cut_holes import cuts_for
from bench.computation.cut_plan import CutLimits, CutPlan
from bench.computation.cut_reach import Reach, reach_of
from bench.computation.cut_scatter import Cut
from bench.computation.cut_sites import PlaneTask, holes_in_plane

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Complexes = NDArray[np.complex128]

PROMISING = 0.3
WORTH_A_LOOK = 0.03
_PASSES = 2
_SETTLED = 0.02
_LESS = (1.0, 0.6, 0.3, 0.1, 0.0)
_HOPELESS = 0.2
_FAR = 15.0
_NEAR = 5.0
_GUARDED = 0.8
_GETS_ON = 0.3
_WELL_INSIDE = 0.85  # of the tolerance
_LEFT_COSTS = 0.1  # runs a plane, for each factor e beyond the tolerance
_CORNERED_COSTS = 4.0  # runs
_HOLES_USED_UP = (
    "no cut that is allowed brings it inside: the holes that are there are full or point elsewhere, "
    "and no further hole is allowed; allow one more hole or a deeper one, or put heavy metal in"
)
_NO_SAFE_CUT = (
    "no cut brings it inside without a risk to take too much: what is left is less than a cut may stray, or at the "
    "edge of where metal may be taken; cut finer, take metal further round where the crankshaft's maker allows it, "
    "or put heavy metal in"
)
_UNTESTED = "short on purpose until its answer is known; "


class Sketch:
    """One planning: the model, what it has to keep, and the plans tried.

    Parameters
    ----------
    model : AnswerModel
        What is known, with at least one reading and no cut waiting for its answer.
    tolerance_g : tuple[float, ...]
        What may stay in each plane. [g]
    limits : CutLimits
        What the plan has to keep.
    """

    def __init__(self, model: AnswerModel, tolerance_g: tuple[float, ...], limits: CutLimits) -> None:
        self._model = model
        self._tolerance = tolerance_g
        self._limits = limits
        planes = range(model.planes)
        self._reaches: list[Reach] = [reach_of([s for s in model.stations if s.plane_index == p]) for p in planes]
        self._mix = self._first_mix()
        self._beyond: dict[bytes, float] = {}

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
        """Tell whether a plan neither finishes nor gets on: the holes that are there point elsewhere."""
        if plan.chance_done >= WORTH_A_LOOK:
            return False
        model = self._model
        cut = {model.stations[model.station_index(c.station)].plane_index for c in plan.cuts}
        if all(abs(model.left[p]) <= self._tolerance[p] for p in cut):
            return True
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
            counted, mixed = [max(1, len(part)) for part in parts], self._shared(parts, mix)
            settled = abs(mixed - mix).max() < _SETTLED
            holes, mix = counted, mixed
            if settled:
                break
        return self.judged(cuts, model.forecast(cuts, doubting=True), mix=mix)

    def _shared(self, parts: Sequence[tuple[Cut, ...]], before: Complexes) -> Complexes:
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
        mix = self._mix if mix is None else mix
        far, beyond = self._chance_too_far(cuts, mix, self._tolerance), self._chance_beyond_now(mix)
        well_inside = [_WELL_INSIDE * t for t in self._tolerance]
        cornered = self._chance_too_far(cuts, mix, well_inside)
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
            chance_cornered=cornered,
        )

    def _chance_too_far(self, cuts: tuple[Cut, ...], mix: Complexes, tolerance_g: Sequence[float]) -> float:
        return chance_too_far(self._model, cuts, mix=mix, reaches=self._reaches, tolerance_g=tolerance_g)

    def _chance_beyond_now(self, mix: Complexes) -> float:
        key = mix.tobytes()
        if key not in self._beyond:
            self._beyond[key] = self._chance_too_far((), mix, self._tolerance)
        return self._beyond[key]

    def mix_of(self, cuts: Sequence[Cut]) -> Complexes:
        """Return how cuts are shared between the stations of every plane.

        Parameters
        ----------
        cuts : Sequence[Cut]
            The cuts.

        Returns
        -------
        numpy.ndarray
            Stations of a gram of each plane, stations x planes, complex; the best known station where none is cut.
        """
        model = self._model
        parts = [
            tuple(c for c in cuts if model.stations[model.station_index(c.station)].plane_index == p)
            for p in range(model.planes)
        ]
        return self._shared(parts, self._mix)

    def of_cuts(self, cuts: tuple[Cut, ...], *, mix: Complexes) -> CutPlan:
        """Return a plan of other cuts with its chances.

        Parameters
        ----------
        cuts : tuple[Cut, ...]
            The cuts.
        mix : numpy.ndarray
            How later cuts will be shared between stations; see `mix_of`.

        Returns
        -------
        CutPlan
            The plan.
        """
        return self.judged(cuts, self._model.forecast(cuts, doubting=True), mix=mix)

    def worth(self, plan: CutPlan) -> float:
        """Return what a plan is worth, in runs: chance to be done, less the price of haste and of what it leaves.

        Parameters
        ----------
        plan : CutPlan
            The plan.

        Returns
        -------
        float
            At most 1.
        """
        left = sum(math.log1p(abs(z) / t) for z, t in zip(plan.left, self._tolerance, strict=True))
        later = _LEFT_COSTS * (1.0 - plan.chance_done) * left + _CORNERED_COSTS * plan.chance_cornered
        return plan.chance_done - self._limits.price_too_far * plan.chance_added - later

    def _holes_used_up(self) -> bool:
        """Tell whether a plane that is not surely inside may have no further hole."""
        import numpy as np

        model = self._model
        sure = inside_with_guard(np.abs(model.left), self.now().covariance, np.array(self._tolerance))
        return any(
            not sure[p] and holes_in_plane(model.stations, p) >= self._limits.most_holes for p in range(model.planes)
        )

    def without_cut(self, again: CutPlan) -> CutPlan:
        """Return the advice when nothing should be taken: run again, or put metal in."""
        model = self._model
        metal = heavy_metal_for(model, reaches=self._reaches, mix=self._mix, tolerance_g=self._tolerance)
        if metal and not again.chance_done >= PROMISING:
            why = "; ".join(m.why for m in metal)
            return CutPlan(
                (), again.left, again.uncertainty_g, again.chance_done, again.chance_too_far, why, heavy_metal=metal
            )
        if not again.chance_done >= _HOPELESS:
            why = _HOLES_USED_UP if self._holes_used_up() else _NO_SAFE_CUT
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
