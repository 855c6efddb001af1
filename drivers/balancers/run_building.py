"""Puts a run together from the fields a layout has found, and says what is missing."""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import Decimal

from drivers.balancers.balancer_profile import AngleMeaning, BalancerProfile
from drivers.balancers.text_lines import TextLine, as_raw
from drivers.contract import ExportFault, PlaneReading, SpinReading
from drivers.number_style import both_readings
from drivers.showing import shown_text

_WHOLE_TURN = {"degrees": Decimal(360), "clock hours": Decimal(12)}


@dataclass
class RunBuilder:
    """Collects one run.

    Attributes
    ----------
    profile : BalancerProfile
        What the text means.
    first_line : int
        Where the run begins, for messages.
    """

    profile: BalancerProfile
    first_line: int
    _label: str = ""
    _speed: float | None = None
    _unit: str = ""
    _parts: dict[str, dict[str, Decimal]] = field(default_factory=dict[str, dict[str, Decimal]])
    _planes: dict[str, PlaneReading] = field(default_factory=dict[str, PlaneReading])
    _lines: list[TextLine] = field(default_factory=list[TextLine])

    def keep(self, line: TextLine) -> None:
        """Keep a line as part of the run's own text.

        Parameters
        ----------
        line : TextLine
            A line of the run.
        """
        self._lines.append(line)

    def take(self, fields: dict[str, str], *, line: TextLine, plane: str = "") -> ExportFault | None:
        """Take the fields of one line.

        Parameters
        ----------
        fields : dict[str, str]
            Field by field what stands there.
        line : TextLine
            The line they come from, for messages.
        plane : str
            The bench's plane when the layout fixes it; empty when a field tells.

        Returns
        -------
        ExportFault or None
            What does not fit.
        """
        if "label" in fields and not self._label:
            self._label = fields["label"].strip()
        if fields.get("speed", "").strip():
            speed = self._number(fields["speed"], line, "a speed in revolutions a minute")
            if isinstance(speed, ExportFault):
                return speed
            if not speed >= 0:
                return ExportFault(line.number, f"speed {speed}", "a speed of zero or more", "check the machine's text")
            self._speed = float(speed)
        fault = self._take_unit(fields.get("unit", "").strip(), line)
        if fault is not None:
            return fault
        name = plane or self.profile.planes.get(fields.get("plane", "").strip(), "")
        if "amount" in fields or "angle" in fields:
            return self._take_plane(name, fields, line)
        return None

    def finish(self, line: int) -> SpinReading | ExportFault:
        """Close the run.

        Parameters
        ----------
        line : int
            Where it ends, for messages.

        Returns
        -------
        SpinReading or ExportFault
            The run, or which plane is missing.
        """
        wanted = self.profile.bench_planes
        missing = [name for name in wanted if name not in self._planes]
        if missing and [self.profile.alone] == list(self._planes):
            # the machine is set to one plane; a job of two planes refuses the run
            missing, wanted = [], (self.profile.alone,)
        if missing:
            printed = ", ".join(f"{name} (printed as {self._printed(name)})" for name in missing)
            found = "planes " + ", ".join(self._planes) if self._planes else "no plane"
            do = "spin again and save the whole run; nothing of this text was taken"
            run = f"run {shown_text(self._label)}" if self._label else f"the run from line {self.first_line}"
            return ExportFault(line, f"{found} in {run}", f"also {printed}", do)
        planes = tuple(self._planes[name] for name in wanted)
        unit = self._unit or self.profile.unit or ""
        return SpinReading(self._label, unit, planes, self._speed, as_raw(self._lines))

    def _printed(self, name: str) -> str:
        return " or ".join(repr(word) for word, plane in self.profile.planes.items() if plane == name)

    def _take_unit(self, word: str, line: TextLine) -> ExportFault | None:
        if not word:
            return None
        unit = self.profile.units.get(word, "")
        if not unit:
            known = ", ".join(repr(known) for known in self.profile.units) or "no unit word"
            do = "if the machine was set to another unit, set it back or teach a profile for it"
            return ExportFault(line.number, f"unit {shown_text(word)}", known, do)
        if self._unit and unit != self._unit:
            do = "set the machine to one unit and save the run again"
            return ExportFault(line.number, f"{unit} after {self._unit} in one run", "one unit a run", do)
        self._unit = unit
        return None

    def _take_plane(self, name: str, fields: dict[str, str], line: TextLine) -> ExportFault | None:
        if not name:
            known = ", ".join(repr(word) for word in self.profile.planes)
            found = f"plane {shown_text(fields.get('plane', ''))}"
            return ExportFault(line.number, found, known, "add the word to the profile's planes, if it is one")
        parts = self._parts.setdefault(name, {})
        given = {what: fields[what] for what in ("amount", "angle") if what in fields}
        if name in self._planes or parts.keys() & given.keys():
            do = "if the text holds several runs, the profile must say where one begins"
            return ExportFault(line.number, f"plane {name} a second time in one run", "each plane once a run", do)
        for what, text in given.items():
            number = self._number(text, line, f"an {what}")
            fault = amount_fault(number, line.number) if what == "amount" else None
            fault = fault or (angle_fault(number, self.profile.angle, line.number) if what == "angle" else None)
            if isinstance(number, ExportFault) or fault is not None:
                return fault
            parts[what] = number
        if len(parts) < 2:
            # The other figure stands in another line.
            return None
        amount, angle = parts["amount"], parts["angle"]
        heavy = self.profile.angle.heavy_angle_deg(float(angle))
        self._planes[name] = PlaneReading(plane=name, amount=amount, angle=angle, heavy_angle_deg=heavy)
        return None

    def _number(self, text: str, line: TextLine, what: str) -> Decimal | ExportFault:
        number = self.profile.numbers.style.read(text)
        if number is not None:
            return number
        return number_fault(text, line.number, self.profile, what)


def amount_fault(amount: Decimal | ExportFault, line: int) -> ExportFault | None:
    """Say when an amount is none the machine can show.

    Parameters
    ----------
    amount : Decimal | ExportFault
        As printed, or why it is no number.
    line : int
        Where it stands.

    Returns
    -------
    ExportFault or None
        None when the amount is zero or more.
    """
    if isinstance(amount, ExportFault):
        return amount
    if amount >= 0:
        return None
    do = "teach a profile for this machine: here a negative amount has no meaning"
    return ExportFault(line, f"amount {amount}", "zero or more", do)


def angle_fault(angle: Decimal | ExportFault, meaning: AngleMeaning, line: int) -> ExportFault | None:
    """Say when an angle is none the machine can show.

    Parameters
    ----------
    angle : Decimal | ExportFault
        As printed, or why it is no number.
    meaning : AngleMeaning
        What the machine's angle means.
    line : int
        Where it stands.

    Returns
    -------
    ExportFault or None
        None when the angle is within one turn.
    """
    if isinstance(angle, ExportFault):
        return angle
    turn = _WHOLE_TURN[meaning.scale]
    low, high = (-turn / 2, turn / 2) if meaning.signed else (Decimal(0), turn)
    if low <= angle <= high:
        return None
    do = "check the machine's angle setting against the profile"
    return ExportFault(line, f"angle {angle}", f"an angle from {low} to {high}", do)


def number_fault(text: str, line: int, profile: BalancerProfile, what: str) -> ExportFault:
    """Say why a text is no number, with both readings where there are two.

    Parameters
    ----------
    text : str
        What stands there.
    line : int
        Where.
    profile : BalancerProfile
        Whose decimal sign counts.
    what : str
        What the number is, for the message.

    Returns
    -------
    ExportFault
        The fault.
    """
    sign = "point" if profile.numbers.decimal == "." else "comma"
    wanted = f"{what} with a decimal {sign}"
    both = both_readings(text)
    if both:
        do = f"say in the profile which it is: {both}"
        return ExportFault(line, shown_text(text), wanted, do)
    return ExportFault(line, shown_text(text), wanted, "check the machine's text against the profile")
