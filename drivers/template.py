r"""A small language for the lines of instruments, linear by construction.

A template is the line itself with fields in braces. Every part of it takes as much as fits and never gives any of
it back, so a line is read in one pass however it is damaged, and no template can be slow.

=====================  ==========================================================================================
``wt``                 these characters, exactly
one blank              one or more blanks or tabs
``~``                  any number of blanks or tabs, or none
``{value}``            a number field: optional sign, blanks, digits, decimal sign of the profile and digits
``{value 8}``          the same in exactly 8 columns, filled up with blanks
``{unit}``             a word field: one of the words the profile lists for it
``{state?}``           a field that may be missing
``{state 2}``          a word in exactly 2 columns, filled up with blanks
``{label}``            a text field: everything up to the next character of the template
``{skip}``             the same, not kept;  ``{skip 4}`` exactly four characters
``{digits}``           one or more digits, not kept;  ``{digits 4}`` exactly four
``{number}``           a number of any form, not kept
``{{`` ``}}`` ``~~``   the characters themselves
=====================  ==========================================================================================

Ten examples, each with a line it reads:

==================================  ===============================
``wt {value 8} g {state}``          ``wt +00603.8 g still``
``{state},{kind},{value} {unit}``   ``OK,N,  12.30 g``
``{value}~{unit?}``                 ``603.8``
``{sign} {value} {unit}``           ``-   12.3 g``
``({value}) {unit}``                ``(12.3) g``  (an accountant's minus, with ``negative = true`` on the line)
``{digits};{value};{unit}``         ``00412;603.8;g``
``{state 1}{value 9}{unit 2}{check}``  ``S    603.8g 5E``
``G {skip}N {value} {unit}``        ``G 812.0 g N 603.8 g``
``{plane} {amount} g @ {angle}``    ``FRONT 12.34 g @ 238.5``
``RUN {label}``                     ``RUN 3``
==================================  ===============================
"""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field

from drivers.number_style import NumberStyle

_PIECE = re.compile(r"\{\{|\}\}|~~|~|[ \t]+|\{([a-z_]{1,20})( [0-9]{1,3})?(\?)?\}|[{}]|[^{}~ \t]+")
_UNKEPT = frozenset({"skip", "digits", "number"})


class TemplateError(ValueError):
    """A template that cannot be used.

    Parameters
    ----------
    template : str
        The template as written.
    found : str
        What is wrong with it.
    wanted : str
        What would be right.
    """

    def __init__(self, *, template: str, found: str, wanted: str) -> None:
        super().__init__(f"template {template!r}: {found}; wanted {wanted}")
        self.template = template
        self.found = found
        self.wanted = wanted


@dataclass(frozen=True)
class Vocabulary:
    """What the fields of a template may be.

    Attributes
    ----------
    numbers : Collection[str]
        Names of number fields.
    words : Mapping[str, Sequence[str]]
        Names of word fields, each with its words.
    texts : Collection[str]
        Names of text fields.
    patterns : Mapping[str, str]
        Names of fields with a pattern of their own, each of fixed length.
    style : NumberStyle
        How numbers are written.
    """

    numbers: Collection[str] = ()
    words: Mapping[str, Sequence[str]] = field(default_factory=dict[str, Sequence[str]])
    texts: Collection[str] = ()
    patterns: Mapping[str, str] = field(default_factory=dict[str, str])
    style: NumberStyle = field(default_factory=NumberStyle)

    @property
    def names(self) -> list[str]:
        """Every field a template may use."""
        return sorted({*self.numbers, *self.words, *self.texts, *self.patterns, *_UNKEPT})


class Template:
    """A line described once and read many times.

    Parameters
    ----------
    text : str
        The template.
    vocabulary : Vocabulary
        What its fields may be.

    Raises
    ------
    TemplateError
        If the template has an unknown or repeated field, a brace that does not belong to one, a field of open
        length with nothing after it that could end it, or two numbers that touch.

    Examples
    --------
    >>> words = Vocabulary(numbers={"value"}, words={"unit": ["g"], "state": ["still", "moves"]})
    >>> Template("wt {value} {unit} {state}", words).match("wt +00603.8 g still")
    {'value': '+00603.8', 'unit': 'g', 'state': 'still'}
    """

    def __init__(self, text: str, vocabulary: Vocabulary) -> None:
        self.text = text
        self.vocabulary = vocabulary
        self._widths: dict[str, int] = {}
        self._seen: set[str] = set()
        self._optional: set[str] = set()
        self.pattern = re.compile(self._compile(), re.ASCII | re.DOTALL)
        self.columns = frozenset(
            name for name in self._widths if name in vocabulary.numbers or name in vocabulary.words
        )

    @property
    def fields(self) -> list[str]:
        """Names of the fields that are kept, in their order."""
        return list(self.pattern.groupindex)

    def may_be_missing(self, name: str) -> bool:
        """Tell whether a field may be missing.

        Parameters
        ----------
        name : str
            Name of the field.

        Returns
        -------
        bool
            True when it is written with a question mark.
        """
        return name in self._optional

    def width(self, name: str) -> int:
        """Return how many columns a field has.

        Parameters
        ----------
        name : str
            Name of the field.

        Returns
        -------
        int
            0 when it has no fixed width.
        """
        return self._widths.get(name, 0)

    def match(self, line: str) -> dict[str, str] | None:
        """Read a line.

        Parameters
        ----------
        line : str
            A whole line without its end.

        Returns
        -------
        dict[str, str] or None
            Field by field what stands there, a missing optional field as an empty text; None when the line is
            not of this form.
        """
        found = self.pattern.fullmatch(line)
        if found is None:
            return None
        fields = found.groupdict("")
        for name in self.columns:
            content = fields[name].strip(" \t")
            if not content and name in self._optional:
                fields[name] = ""
            elif name in self.vocabulary.words:
                if content not in self.vocabulary.words[name]:
                    return None
                fields[name] = content
            elif self.vocabulary.style.whole.fullmatch(content) is None:
                return None
        return fields

    def _compile(self) -> str:
        """Turn the template into one pattern whose every part is possessive."""
        pieces = list(_PIECE.finditer(self.text))
        parts: list[str] = []
        last = ""
        for at, piece in enumerate(pieces):
            whole, name = piece.group(0), piece.group(1)
            if name is None:
                parts.append(self._plain(whole))
                last = "plain"
                continue
            following = pieces[at + 1].group(0) if at + 1 < len(pieces) else ""
            parts.append(self._field(piece, following=following, last=last))
            last = "number" if name in self.vocabulary.numbers and not piece.group(2) else "field"
        return "".join(parts)

    def _plain(self, piece: str) -> str:
        """Compile a piece that is no field."""
        if piece in {"{", "}"}:
            raise self._error(f"a lone {piece!r}", "a field like {value}, or the brace doubled")
        if piece == "~":
            return "[ \t]*+"
        if piece[0] in " \t":
            return "[ \t]++"
        return re.escape({"{{": "{", "}}": "}", "~~": "~"}.get(piece, piece))

    def _field(self, piece: re.Match[str], *, following: str, last: str) -> str:
        """Compile one field."""
        name, width_text, optional = piece.group(1), piece.group(2), bool(piece.group(3))
        width = int(width_text) if width_text else 0
        if name not in self.vocabulary.names:
            known = ", ".join(self.vocabulary.names)
            raise self._error(f"no field is called {name!r} here", f"one of {known}")
        if name in self.vocabulary.numbers and not width and last == "number":
            raise self._error(f"{{{name}}} touches the number before it", "a character between them, or a width")
        inner = self._inner(name, width=width, following=following)
        if name not in _UNKEPT:
            if name in self._seen:
                raise self._error(f"{{{name}}} stands there twice", "each field once")
            self._seen.add(name)
            inner = f"(?P<{name}>{inner})"
        if width:
            self._widths[name] = width
        if optional:
            self._optional.add(name)
            return f"(?:{inner})?+"
        return f"(?>{inner})"

    def _inner(  # noqa: PLR0911 - one return for each sort of field
        self, name: str, *, width: int, following: str
    ) -> str:
        """Compile what a field may hold."""
        if name == "digits" or name in self.vocabulary.patterns:
            return self.vocabulary.patterns.get(name) or (f"[0-9]{{{width}}}" if width else "[0-9]++")
        if width:
            return f".{{{width}}}"
        if name == "number":
            return "[+\\-]?+ *+[0-9]++(?:[.,][0-9]++)*+"
        if name in self.vocabulary.numbers:
            return self.vocabulary.style.text
        if name in self.vocabulary.words:
            words = sorted(filter(None, self.vocabulary.words[name]), key=len, reverse=True)
            return "(?>" + "|".join(re.escape(word) for word in words) + ")" if words else "(?!)"
        if following == "~" or (following.startswith("{") and following != "{{"):
            raise self._error(f"{{{name}}} has no end", "a character or a blank after it, or a width")
        if not following:
            return ".*+"
        stop = " \t" if following[0] in " \t" else re.escape(following[0])
        return f"[^{stop}]*+"

    def _error(self, found: str, wanted: str) -> TemplateError:
        return TemplateError(template=self.text, found=found, wanted=wanted)
