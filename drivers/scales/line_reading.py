"""One line of a scale to one reading, by the templates of its profile."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from functools import partial

from drivers.checks import check_holds
from drivers.contract import Condition, LineFault, Reading
from drivers.framing import Overlong
from drivers.number_style import NumberStyle
from drivers.profile import ProfileError
from drivers.scales.scale_profile import ScaleLine, ScaleProfile
from drivers.showing import shown_bytes
from drivers.template import Template

_CONDITIONS = {
    "weight": Condition.WEIGHT,
    "overload": Condition.OVERLOAD,
    "underload": Condition.UNDERLOAD,
    "no number": Condition.NO_NUMBER,
}
# A frozen dataclass sets its fields by name, which takes longer than everything else done to a line; its slots take the
# values directly.
_new = Reading.__new__
_put_at_ns, _put_value, _put_unit, _put_condition, _put_steady, _put_net, _put_raw = (
    getattr(Reading, name).__set__ for name in Reading.__slots__
)
_Meaning = tuple[Condition, bool | None, str, bool | None, bool]


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
        self._plain = not self._length and self._checksum is None and self._encoding == "latin-1"
        template, form = self._forms[0]
        # Only the first form may go the short way: a later one must not overtake it.
        self._quick = (
            [_QuickForm(template, profile.numbers.style, partial(self._meaning, form))] if form.says == "weight" else []
        )

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
        if self._plain and type(line) is bytes:
            # The short way for the usual line: one pattern, and the meaning of its words looked up as a whole.
            text = line.decode("latin-1")
            for quick in self._quick:
                reading = quick.read(text, line, at_ns)
                if reading is not None:
                    return reading
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

    def _meaning(self, form: ScaleLine, fields: dict[str, str]) -> _Meaning:
        """Look up what the words of a line mean."""
        symbols, state = self._profile.units, fields.get("state", "")
        return (
            self._conditions.get(state, _CONDITIONS[form.says]),
            self._steady.get(state, form.steady),
            symbols.get(fields.get("unit", ""), self._profile.unit) or next(iter(symbols.values()), "?"),
            self._net.get(fields.get("kind", ""), form.net),
            form.negative or fields.get("sign", "") in self._profile.minus,
        )


class _QuickForm:
    """The short way for one form that says a weight: the same as `LineReader.match` and `reading`, in one step."""

    def __init__(self, template: Template, style: NumberStyle, meaning: Callable[[dict[str, str]], _Meaning]) -> None:
        self._template = template
        self._fullmatch = template.pattern.fullmatch
        self._meaning = meaning
        self._value = style.value
        self._whole = style.whole.fullmatch
        self._in_columns = "value" in template.columns
        self._simple = style == NumberStyle(places=style.places)
        self._words = [name for name in template.fields if name in {"state", "unit", "kind", "sign"}]
        self._meanings: dict[object, _Meaning] = {}

    def read(self, text: str, line: bytes, at_ns: int) -> Reading | None:
        """Return the reading, or None when the long way must decide."""
        found = self._fullmatch(text)
        if found is None:
            return None
        words = found.group(*self._words) if self._words else ""
        meaning = self._meanings.get(words)
        if meaning is None:
            fields = self._template.match(text)
            if fields is None:
                return None
            # Few different words ever come, so each mixture of them is looked up once.
            meaning = self._meanings[words] = self._meaning(fields)
        condition, steady, unit, net, negative = meaning
        shown = found["value"]
        if condition is not Condition.WEIGHT or (self._in_columns and self._whole(shown) is None):
            return None
        value = Decimal(shown) if self._simple and " " not in shown else self._value(shown)
        reading = _new(Reading)
        _put_at_ns(reading, at_ns)
        _put_value(reading, -value if negative else value)
        _put_unit(reading, unit)
        _put_condition(reading, condition)
        _put_steady(reading, steady)
        _put_net(reading, net)
        _put_raw(reading, line)
        return reading
