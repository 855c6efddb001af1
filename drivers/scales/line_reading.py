"""One line of a scale to one reading, by the templates of its profile."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from functools import partial

from drivers.checks import check_holds
from drivers.contract import Condition, LineFault, Reading
from drivers.framing import Overlong
from drivers.profile import ProfileError
from drivers.scales.quick_form import Meaning, QuickForm
from drivers.scales.scale_profile import ScaleLine, ScaleProfile
from drivers.showing import shown_bytes
from drivers.template import Template

_CONDITIONS = {
    "weight": Condition.WEIGHT,
    "overload": Condition.OVERLOAD,
    "underload": Condition.UNDERLOAD,
    "no number": Condition.NO_NUMBER,
}


class LineReader:
    """Reads single lines.

    Parameters
    ----------
    profile : ScaleProfile
        What the scale sends.

    Raises
    ------
    ProfileError
        If the profile describes no line.
    """

    def __init__(self, profile: ScaleProfile) -> None:
        if not profile.line:
            wanted = "at least one [[line]] with a template"
            raise ProfileError(where=profile.name, field="line", found="nothing", wanted=wanted)
        self._profile = profile
        vocabulary = profile.vocabulary
        self._forms = [(Template(line.text, vocabulary), line) for line in profile.line]
        self._value = profile.numbers.style.value
        state = profile.state
        self._conditions: dict[str, Condition] = {
            **dict.fromkeys(state.over, Condition.OVERLOAD),
            **dict.fromkeys(state.under, Condition.UNDERLOAD),
            **dict.fromkeys(state.none, Condition.NO_NUMBER),
        }
        self._steady = {**dict.fromkeys(state.steady, True), **dict.fromkeys(state.moving, False)}
        self._net = {**dict.fromkeys(profile.tare.net, True), **dict.fromkeys(profile.tare.gross, False)}
        self._wanted = " or ".join(repr(line.text) for line in profile.line)
        self._encoding = profile.frame.encoding
        self._length = profile.frame.length
        self._checksum = profile.checksum
        self._start = profile.frame.start.encode("latin-1")
        plain = not self._length and self._checksum is None and self._encoding == "latin-1"
        template, form = self._forms[0]
        # Only the first form may go the short way: a later one must not overtake it.
        self._quick: QuickForm | None = None
        if plain and form.says == "weight":
            self._quick = QuickForm(template, profile.numbers.style, partial(self._meaning, form))

    def read_all(self, lines: Sequence[bytes | Overlong], at_ns: int) -> list[Reading | LineFault]:
        """Read lines that stand for themselves.

        Parameters
        ----------
        lines : Sequence[bytes | Overlong]
            What the framer gave.
        at_ns : int
            Monotonic moment of arrival. [ns]

        Returns
        -------
        list[Reading | LineFault]
            What they say; lines that carry nothing are left out.
        """
        if self._quick is not None:
            # The short way for the usual line: one pattern, and the meaning of its words looked up as a whole.
            return self._quick.read_all(lines, at_ns, self.read)
        items = (self.read(line, at_ns) for line in lines)
        return [item for item in items if item is not None]

    def read(self, line: bytes | Overlong, at_ns: int) -> Reading | LineFault | None:
        """Read one line that stands for itself.

        Parameters
        ----------
        line : bytes | Overlong
            What the framer gave.
        at_ns : int
            Monotonic moment of arrival. [ns]

        Returns
        -------
        Reading | LineFault | None
            None for a line that is understood and carries nothing.
        """
        found = self.match(line, at_ns)
        if found is None or isinstance(found, LineFault):
            return found
        fields, form, body = found
        return None if form.says == "nothing" else self.reading(fields, form, body, at_ns)

    def match(self, line: bytes | Overlong, at_ns: int) -> tuple[dict[str, str], ScaleLine, bytes] | LineFault | None:
        """Find the form of a line.

        Parameters
        ----------
        line : bytes | Overlong
            What the framer gave.
        at_ns : int
            Monotonic moment of arrival. [ns]

        Returns
        -------
        tuple[dict[str, str], ScaleLine, bytes] | LineFault | None
            The fields, the form and the line itself; None for a blank line.
        """
        if isinstance(line, Overlong):
            found = f"a line of more than {len(line.head)} bytes, beginning {shown_bytes(line.head[:24])}"
            return LineFault(at_ns, line.head, found, "an end mark before that; check speed and profile")
        trouble = self._damaged(line)
        if trouble is not None:
            return LineFault(at_ns, line, f"{shown_bytes(line)}: {trouble[0]}", trouble[1])
        try:
            text = line.decode(self._encoding)
        except UnicodeDecodeError as error:
            wanted = f"characters of {self._encoding}"
            return LineFault(at_ns, line, f"{shown_bytes(line)}: byte {error.start} fits no character", wanted)
        for template, form in self._forms:
            fields = template.match(text)
            if fields is not None:
                return fields, form, line
        return LineFault(at_ns, line, shown_bytes(line), self._wanted) if text.strip() else None

    def _damaged(self, line: bytes) -> tuple[str, str] | None:
        """Look at length and check characters before anything else."""
        if self._length and len(line) != self._length:
            return f"{len(line)} bytes", f"lines of {self._length} bytes"
        checksum = self._checksum
        if checksum is None:
            return None
        body, written = line[: -checksum.length], line[-checksum.length :]
        counted = (self._start if checksum.with_start else b"") + body
        if check_holds(counted[checksum.skip :], written, kind=checksum.kind, writing=checksum.written):
            return None
        return "check characters do not belong to the line", f"a {checksum.kind} that holds"

    def reading(self, fields: dict[str, str], form: ScaleLine, line: bytes, at_ns: int) -> Reading:
        """Make a reading of fields.

        Parameters
        ----------
        fields : dict[str, str]
            Field by field what stands there.
        form : ScaleLine
            What the line says.
        line : bytes
            The bytes they come from.
        at_ns : int
            Monotonic moment of arrival. [ns]

        Returns
        -------
        Reading
            The reading.
        """
        condition, steady, unit, net, negative = self._meaning(form, fields)
        value: Decimal | None = None
        if condition is Condition.WEIGHT:
            value = self._value(fields["value"])
            if negative:
                value = -value
        return Reading(at_ns, value, unit, condition, steady, net, line)

    def _meaning(self, form: ScaleLine, fields: dict[str, str]) -> Meaning:
        """Look up what the words of a line mean."""
        symbols, state = self._profile.units, fields.get("state", "")
        return (
            self._conditions.get(state, _CONDITIONS[form.says]),
            self._steady.get(state, form.steady),
            symbols.get(fields.get("unit", ""), self._profile.unit) or next(iter(symbols.values()), "?"),
            self._net.get(fields.get("kind", ""), form.net),
            form.negative or fields.get("sign", "") in self._profile.minus,
        )
