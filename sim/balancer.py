"""What a balancing machine measures at its two supports, and the text that it leaves in a folder."""

from __future__ import annotations

import cmath
import math
import os
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from sim.rotor import Rotor


@dataclass(frozen=True, slots=True)
class MachineError:
    """How far a machine is off, for one set-up.

    Attributes
    ----------
    noise_kg : float
        Standard deviation of each component of each plane's reading, at the correction radius. [kg]
    gain_sd : float
        Standard deviation of the constant factor on the amount.
    phase_sd_rad : float
        Standard deviation of the constant turn of the angle. [rad]
    """

    noise_kg: float = 0.0001
    gain_sd: float = 0.01
    phase_sd_rad: float = math.radians(1.0)


@dataclass(frozen=True, slots=True)
class SpinText:
    """One run as the machine shows it.

    Attributes
    ----------
    run : int
        Number of the run.
    rpm : float
        Speed. [1/min]
    front_kg : complex
        Shown excess in the front plane. [kg]
    rear_kg : complex
        Shown excess in the rear plane. [kg]
    """

    run: int
    rpm: float
    front_kg: complex
    rear_kg: complex

    def text(self) -> str:
        """Return the block of keyed lines the machine prints.

        Returns
        -------
        str
            Five lines, each ended by a newline; the angle is where the excess is.
        """
        lines = [f"RUN {self.run}", f"SPEED {self.rpm:.0f} rpm"]
        for word, excess in (("FRONT", self.front_kg), ("REAR", self.rear_kg)):
            degrees = round(math.degrees(cmath.phase(excess)) % 360.0, 1) % 360.0
            lines.append(f"{word} AMOUNT {abs(excess) * 1000.0:.2f} g ANGLE {degrees:.1f} deg")
        return "\n".join([*lines, "END RUN"]) + "\n"


class Balancer:
    """A two-plane machine with stiff supports.

    Parameters
    ----------
    planes_m : tuple[float, float]
        Correction planes that it was set up for. [m]
    radius_m : float
        Correction radius that it was set up for. [m]
    error : MachineError
        How far it is off.
    set_up : np.random.Generator
        Draws the constants of the set-up; give the same again to go on with the same set-up.
    noise : np.random.Generator
        Draws the noise of each run.
    """

    def __init__(
        self,
        planes_m: tuple[float, float],
        radius_m: float,
        error: MachineError,
        *,
        set_up: np.random.Generator,
        noise: np.random.Generator,
    ) -> None:
        self._planes_m = planes_m
        self._radius_m = radius_m
        self._error = error
        self._noise = noise
        draws = set_up.standard_normal(4)
        self.factors = tuple(
            complex((1.0 + error.gain_sd * draws[2 * i]) * cmath.exp(1j * error.phase_sd_rad * draws[2 * i + 1]))
            for i in range(2)
        )

    def measure(self, rotor: Rotor, *, run: int, rpm: float) -> SpinText:
        """Spin the rotor and read both planes.

        The supports' forces are what is measured; forces in the correction planes that would do the same follow from
        the sum of forces and moments, and the masses from those.

        Parameters
        ----------
        rotor : Rotor
            What turns.
        run : int
            Number of the run.
        rpm : float
            Speed. [1/min]

        Returns
        -------
        SpinText
            What is shown.
        """
        speed = rpm * 2.0 * math.pi / 60.0
        front_pull, rear_pull = rotor.support_pulls(speed)
        front_n, rear_n = complex(front_pull.x_n, front_pull.y_n), complex(rear_pull.x_n, rear_pull.y_n)
        support_front_m, support_rear_m = rotor.supports_m
        plane_front_m, plane_rear_m = self._planes_m
        moment = front_n * (support_front_m - plane_front_m) + rear_n * (support_rear_m - plane_front_m)
        rear_force = moment / (plane_rear_m - plane_front_m)
        front_force = front_n + rear_n - rear_force
        per_kg = self._radius_m * speed * speed
        shown: list[complex] = []
        for factor, force in zip(self.factors, (front_force, rear_force), strict=True):
            jitter = self._noise.standard_normal(2) * self._error.noise_kg
            shown.append(factor * force / per_kg + complex(jitter[0], jitter[1]))
        return SpinText(run, rpm, shown[0], shown[1])


def export_name(run: int) -> str:
    """Return the file name of a run's text.

    Parameters
    ----------
    run : int
        Number of the run.

    Returns
    -------
    str
        For instance ``run-003.txt``.
    """
    return f"run-{run:03d}.txt"


def write_whole(path: Path, text: str) -> None:
    """Write a text so that a reader sees all of it or nothing.

    Parameters
    ----------
    path : Path
        Where it shall stand.
    text : str
        What it holds.
    """
    part = path.with_name(f".{path.name}.part")
    with part.open("w", encoding="utf-8", newline="\n") as stream:
        stream.write(text)
        stream.flush()
        os.fsync(stream.fileno())
    part.replace(path)


def write_export(folder: Path, spin: SpinText) -> Path:
    """Leave a run's text in the folder.

    Parameters
    ----------
    folder : Path
        The machine's folder; made when it is missing.
    spin : SpinText
        The run.

    Returns
    -------
    Path
        The file.
    """
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / export_name(spin.run)
    write_whole(path, spin.text())
    return path
