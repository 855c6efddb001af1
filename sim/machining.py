"""The heavy end of the shop: clamping bobweights, spinning, drilling; and the exact truth about the crank."""

from __future__ import annotations

import cmath
import math
from pathlib import Path

import numpy as np

from sim.balancer import Balancer, MachineError, SpinText, export_name, write_export, write_whole
from sim.instructions import Cut
from sim.shop_state import CutMade, ShopState
from sim.worlds import PLANE_NAMES, World, grams_and_degrees

_MASS_SCATTER = 0.03
_MASS_SCATTER_KG = 0.00015
_ANGLE_SCATTER_RAD = math.radians(1.5)


class Machining:
    """The crank of a shop, its balancing machine and its drill.

    Parameters
    ----------
    world : World
        Parts and crank.
    state : ShopState
        What has been done before: its holes are drilled again.
    folder : Path
        Where the balancing machine leaves its texts.
    rng : np.random.Generator
        Source of chance for noise and scatter of this start.
    """

    def __init__(self, world: World, state: ShopState, folder: Path, rng: np.random.Generator) -> None:
        self._world = world
        self._state = state
        self._folder = folder
        noise, self._scatter = rng.spawn(2)
        design = world.crank.design
        self._balancer = Balancer(
            design.planes_m,
            design.correction_radius_m,
            MachineError(),
            set_up=np.random.default_rng((world.seed, 303)),
            noise=noise,
        )
        self._start_kg = world.crank.excess_kg(world.needs_kg())
        for cut in state.cuts:
            self._drill(cut)

    def spin(self, run: int) -> Path:
        """Spin with the bobweights made so far; a run that has been shown before is shown again.

        Parameters
        ----------
        run : int
            Number of the run.

        Returns
        -------
        Path
            The machine's text.
        """
        if run in self._state.spins:
            path = self._folder / export_name(run)
            if not path.exists():
                self._folder.mkdir(parents=True, exist_ok=True)
                write_whole(path, self._state.spins[run])
            return path
        shown = self.measure(run)
        self._state.spins[run] = shown.text()
        return write_export(self._folder, shown)

    def measure(self, run: int) -> SpinText:
        """Read the machine without leaving a text.

        Parameters
        ----------
        run : int
            Number of the run.

        Returns
        -------
        SpinText
            What is shown.
        """
        rotor = self._world.crank.spun(self._state.bobweights_kg)
        return self._balancer.measure(rotor, run=run, rpm=self._world.spin_rpm)

    def cut(self, asked: Cut) -> CutMade:
        """Drill one hole, as well as hands can.

        Parameters
        ----------
        asked : Cut
            What was asked for.

        Returns
        -------
        CutMade
            How it came out.
        """
        crank = self._world.crank
        stations = crank.stations_m[PLANE_NAMES.index(asked.plane)]
        z_m = stations[min(asked.station, len(stations)) - 1]
        draws = self._scatter.standard_normal(3)
        mass_kg = asked.grams / 1000.0 * (1.0 + _MASS_SCATTER * float(draws[0])) + _MASS_SCATTER_KG * float(draws[1])
        angle_rad = math.radians(asked.angle_deg) + _ANGLE_SCATTER_RAD * float(draws[2])
        made = CutMade(
            plane=asked.plane,
            station=asked.station,
            tag=asked.tag,
            asked_angle_deg=asked.angle_deg,
            asked_grams=asked.grams,
            angle_deg=math.degrees(angle_rad) % 360.0,
            grams=max(mass_kg, 0.02e-3) * 1000.0,
            z_mm=z_m * 1000.0,
            after_run=self._state.last_run,
        )
        self._drill(made)
        self._state.cuts.append(made)
        return made

    def already_cut(self, asked: Cut) -> bool:
        """Tell whether this very hole has been drilled since the last spin.

        Parameters
        ----------
        asked : Cut
            What is asked for.

        Returns
        -------
        bool
            True when it is there.
        """
        return any(
            cut.after_run == self._state.last_run
            and (cut.plane, cut.station, cut.tag) == (asked.plane, asked.station, asked.tag)
            and abs(cut.asked_angle_deg - asked.angle_deg) < 1e-6
            and abs(cut.asked_grams - asked.grams) < 1e-6
            for cut in self._state.cuts
        )

    def truth(self) -> dict[str, object]:
        """Return what is true of the crank, by statics.

        Returns
        -------
        dict[str, object]
            Residuals as amounts and angles by plane, spins and cuts.
        """
        crank = self._world.crank
        with_made = crank.excess_kg(self._state.bobweights_kg)
        with_ideal = crank.excess_kg(self._world.needs_kg())
        centre, half = zip(*crank.arcs_rad, strict=True)
        return {
            "start_residual": _by_plane(self._start_kg),
            "residual": _by_plane(with_made),
            "residual_with_ideal_bobweights": _by_plane(with_ideal),
            "machine_factors": {
                plane: {"gain": abs(factor), "turn_deg": math.degrees(cmath.phase(factor))}
                for plane, factor in zip(PLANE_NAMES, self._balancer.factors, strict=True)
            },
            "metal": {
                plane: {"middle_deg": math.degrees(m) % 360.0, "half_width_deg": math.degrees(h)}
                for plane, m, h in zip(PLANE_NAMES, centre, half, strict=True)
            },
            "spins": len(self._state.spins),
            "cuts": [
                {
                    "plane": cut.plane,
                    "angle_deg": cut.angle_deg,
                    "grams": cut.grams,
                    "z_mm": cut.z_mm,
                    "after_run": cut.after_run,
                    "asked": {"angle_deg": cut.asked_angle_deg, "grams": cut.asked_grams, "station": cut.station},
                }
                for cut in self._state.cuts
            ],
        }

    def _drill(self, cut: CutMade) -> None:
        self._world.crank.rotor.drill(
            mass_kg=cut.grams / 1000.0,
            radius_m=self._world.crank.design.correction_radius_m,
            angle_rad=math.radians(cut.angle_deg),
            z_m=cut.z_mm / 1000.0,
        )


def _by_plane(excess_kg: tuple[complex, complex]) -> dict[str, dict[str, float]]:
    return {plane: grams_and_degrees(excess) for plane, excess in zip(PLANE_NAMES, excess_kg, strict=True)}
