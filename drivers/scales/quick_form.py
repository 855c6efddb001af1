"""The short way to read the usual line: the same as the long way of `line_reading`, in one step."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from operator import itemgetter

from drivers.contract import Condition, Reading
from drivers.number_style import NumberStyle
from drivers.template import Template

Meaning = tuple[Condition, bool | None, str, bool | None, bool]

# A frozen dataclass sets its fields by name, which takes longer than everything else done to a line; its slots take the
# values directly.
_new = Reading.__new__
_put_at_ns, _put_value, _put_unit, _put_condition, _put_steady, _put_net, _put_raw = (
    getattr(Reading, name).__set__ for name in Reading.__slots__
)


class QuickForm:
    """Reads the lines of one form that says a weight; whatever is not plain is left to the long way.

    Parameters
    ----------
    template : Template
        The form.
    style : NumberStyle
        How numbers are written.
    meaning : Callable[[dict[str, str]], Meaning]
        Looks up what the words of a line mean.
    """

    def __init__(self, template: Template, style: NumberStyle, meaning: Callable[[dict[str, str]], Meaning]) -> None:
        self._template = template
        self._fullmatch = template.pattern.fullmatch
        self._meaning = meaning
        self._value = style.value
        self._whole = style.whole.fullmatch
        self._in_columns = "value" in template.columns
        self._simple = style == NumberStyle(places=style.places)
        at = {name: place - 1 for name, place in template.pattern.groupindex.items()}
        self._value_at = at["value"]
        words = [at[name] for name in ("state", "unit", "kind", "sign") if name in at]
        self._words: Callable[[tuple[str, ...]], object] = itemgetter(*words) if words else lambda _: ""
        self._meanings: dict[object, Meaning] = {}

    def read(self, line: bytes, at_ns: int) -> Reading | None:
        """Read a line.

        Parameters
        ----------
        line : bytes
            A whole line.
        at_ns : int
            Monotonic moment of arrival. [ns]

        Returns
        -------
        Reading | None
            None when the long way must decide.
        """
        text = line.decode("latin-1")
        found = self._fullmatch(text)
        if found is None:
            return None
        groups = found.groups()
        words = self._words(groups)
        meaning = self._meanings.get(words)
        if meaning is None:
            fields = self._template.match(text)
            if fields is None:
                return None
            # Few different words ever come, so each mixture of them is looked up once.
            meaning = self._meanings[words] = self._meaning(fields)
        condition, steady, unit, net, negative = meaning
        shown = groups[self._value_at]
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
