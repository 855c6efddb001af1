"""The short way to read the usual line: the same as the long way of `line_reading`, in one step."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from decimal import Decimal
from operator import itemgetter

from drivers.contract import Condition, LineFault, Reading
from drivers.framing import Overlong
from drivers.number_style import NumberStyle
from drivers.template import Template

Meaning = tuple[Condition, bool | None, str, bool | None, bool]
LongWay = Callable[[bytes | Overlong, int], Reading | LineFault | None]

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
        self._meaning = meaning
        self._value = style.value
        self._simple = style == NumberStyle(places=style.places)
        pattern = template.pattern
        at = {name: place - 1 for name, place in pattern.groupindex.items()}
        self._value_at = at["value"]
        # A number in columns stands at their right end as a rule. Then one look at the line is enough, with the grammar
        # of numbers in place of "any eight characters"; the length must still be that of the columns.
        self._width = template.width("value")
        if self._width:
            columns, number = f"(?P<value>.{{{self._width}}})", f"(?P<value> *+{style.text})"
            pattern = re.compile(pattern.pattern.replace(columns, number), pattern.flags)
        self._fullmatch = pattern.fullmatch
        words = [at[name] for name in ("state", "unit", "kind", "sign") if name in at]
        self._words: Callable[[tuple[str, ...]], object] = itemgetter(*words) if words else lambda _: ""
        self._meanings: dict[object, Meaning | None] = {}

    def read_all(self, lines: Sequence[bytes | Overlong], at_ns: int, long_way: LongWay) -> list[Reading | LineFault]:
        """Read lines.

        Parameters
        ----------
        lines : Sequence[bytes | Overlong]
            What the framer gave.
        at_ns : int
            Monotonic moment of arrival. [ns]
        long_way : LongWay
            Reads a line that is not plain.

        Returns
        -------
        list[Reading | LineFault]
            What they say; lines that carry nothing are left out.
        """
        # Every name that is looked up once here is not looked up for each line.
        fullmatch, words_of, meanings, value_at = self._fullmatch, self._words, self._meanings, self._value_at
        width, simple, value_of = self._width, self._simple, self._value
        items = list[Reading | LineFault]()
        add = items.append
        for line in lines:
            found = fullmatch(line.decode("latin-1")) if type(line) is bytes else None
            if found is not None:
                groups = found.groups()
                words = words_of(groups)
                meaning = meanings[words] if words in meanings else self._looked_up(words, found.string)
                shown = groups[value_at]
                if meaning is not None and (not width or len(shown) == width):
                    condition, steady, unit, net, negative = meaning
                    value = Decimal(shown) if simple and " " not in shown else value_of(shown)
                    reading = _new(Reading)
                    _put_at_ns(reading, at_ns)
                    _put_value(reading, -value if negative else value)
                    _put_unit(reading, unit)
                    _put_condition(reading, condition)
                    _put_steady(reading, steady)
                    _put_net(reading, net)
                    _put_raw(reading, line)
                    add(reading)
                    continue
            item = long_way(line, at_ns)
            if item is not None:
                add(item)
        return items

    def _looked_up(self, words: object, text: str) -> Meaning | None:
        """Look up what words mean; None, which is not kept, where the line must go the long way."""
        fields = self._template.match(text)
        if fields is None:
            return None
        # Few different words ever come, so each mixture of them is looked up once.
        meaning = self._meaning(fields)
        kept = self._meanings[words] = meaning if meaning[0] is Condition.WEIGHT else None
        return kept
