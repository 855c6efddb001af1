"""The profile of a scale: its port, its frames, its words and the lines it sends."""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from drivers.checks import CheckKind, CheckWriting, check_length
from drivers.profile import Name, Numbers, PortSettings, ShortText, Strict
from drivers.template import Template, TemplateError, Vocabulary

NUMBER_FIELDS = frozenset({"value", "tare", "other"})
STATE_WORDS = ("steady", "moving", "over", "under", "none")


class Frame(Strict):
    """How a line begins and ends.

    Attributes
    ----------
    end : str
        End mark; empty means either of CR and LF.
    start : str
        Start mark of one character, or empty.
    drop_first : bool
        False when a line comes only when asked for, so that the first one is whole.
    length : int
        Exact length of a line without its marks, or 0 when lengths differ. [bytes]
    encoding : str
        Character set.
    """

    end: Annotated[str, Field(max_length=4)] = ""
    start: Annotated[str, Field(max_length=1)] = ""
    drop_first: bool = True
    length: Annotated[int, Field(ge=0, le=128)] = 0
    encoding: Literal["ascii", "latin-1", "cp437", "cp1252", "utf-8"] = "latin-1"


class StateWords(Strict):
    """The words that stand for the state of the pan, as sent.

    Attributes
    ----------
    steady : tuple[str, ...]
        Words for a settled pan.
    moving : tuple[str, ...]
        Words for an unsettled pan.
    over : tuple[str, ...]
        Words for overload.
    under : tuple[str, ...]
        Words for underload.
    none : tuple[str, ...]
        Words for a line that carries no weight.
    """

    steady: tuple[str, ...] = ()
    moving: tuple[str, ...] = ()
    over: tuple[str, ...] = ()
    under: tuple[str, ...] = ()
    none: tuple[str, ...] = ()


class KindWords(Strict):
    """The words that tell a net weight from a gross one.

    Attributes
    ----------
    net : tuple[str, ...]
        Words for a weight with the tare taken off.
    gross : tuple[str, ...]
        Words for a weight without tare.
    """

    net: tuple[str, ...] = ()
    gross: tuple[str, ...] = ()


class Checksum(Strict):
    """Check characters at the end of a line.

    Attributes
    ----------
    kind : CheckKind
        How they are computed.
    written : CheckWriting
        How they are written.
    skip : int
        Characters at the head of the line that are not counted.
    with_start : bool
        True when the start mark is counted too.
    """

    kind: CheckKind
    written: CheckWriting = "hex"
    skip: Annotated[int, Field(ge=0, le=8)] = 0
    with_start: bool = False

    @property
    def length(self) -> int:
        """How many characters they are."""
        return check_length(self.kind, self.written)

    @property
    def pattern(self) -> str:
        """What the characters can be."""
        digits = "[0-9]" if self.written == "decimal" else "[0-9A-Fa-f]"
        return f"{digits}{{{self.length}}}"


class ScaleLine(Strict):
    """One form a line can have.

    Attributes
    ----------
    says : str
        What a line of this form means: "weight", "overload", "underload", "no number" or "nothing" (a line
        that is understood and passed over, for instance a date).
    text : str
        The template.
    steady : bool | None
        What this form alone says about the pan; None when it says nothing.
    negative : bool
        True when this form means a negative number, for instance one in parentheses.
    net : bool | None
        What this form alone says about a tare.
    place : str
        Where the line stands in a block of several lines: "first", "last" or "any".
    """

    says: Literal["weight", "overload", "underload", "no number", "nothing"] = "weight"
    text: ShortText
    steady: bool | None = None
    negative: bool = False
    net: bool | None = None
    place: Literal["any", "first", "last"] = "any"


class ModbusRegisters(Strict):
    """Where a Modbus device keeps its weight.

    Attributes
    ----------
    address : int
        Address of the device.
    register_number : int
        First register, counted from 0.
    function : int
        3 for holding registers, 4 for input registers.
    number : str
        "int16", "int32" or "float32".
    low_word_first : bool
        True when the lower of two registers comes first.
    places : int
        Digits behind the decimal sign that is not sent, or to which a float is shown.
    status : bool
        True when a status register follows.
    steady_mask : int
        Bits of the status that are set while the pan is settled; 0 when none are.
    overload_mask : int
        Bits of the status that are set on overload; 0 when none are.
    """

    address: Annotated[int, Field(ge=1, le=247)]
    register_number: Annotated[int, Field(ge=0, le=65535)]
    function: Literal[3, 4] = 3
    number: Literal["int16", "int32", "float32"]
    low_word_first: bool = False
    places: Annotated[int, Field(ge=0, le=4)]
    status: bool = False
    steady_mask: Annotated[int, Field(ge=0, le=65535)] = 0
    overload_mask: Annotated[int, Field(ge=0, le=65535)] = 0

    @property
    def count(self) -> int:
        """How many registers are read."""
        return (1 if self.number == "int16" else 2) + self.status


class ScaleProfile(Strict):
    """A scale, told in a file.

    Attributes
    ----------
    name : str
        Name of the profile.
    kind : str
        Always "scale".
    title : str
        One sentence for a list.
    driver : str
        Which driver reads it: "streaming", "ask-and-answer", "print-key", "block" or a plug-in's name.
    port : PortSettings
        How its port is opened.
    frame : Frame
        How lines begin and end.
    numbers : Numbers
        How numbers are written.
    units : dict[str, str]
        Unit words as sent, each with its plain symbol.
    unit : str
        Symbol of the unit when the line has none; empty when every weight line tells it.
    state : StateWords
        Words for the state of the pan.
    tare : KindWords
        Words for net and gross.
    minus : tuple[str, ...]
        Words of a ``{sign}`` field that mean a negative number.
    plus : tuple[str, ...]
        Words of a ``{sign}`` field that mean a positive number.
    checksum : Checksum | None
        Check characters, when the line ends with a ``{check}`` field.
    modbus : ModbusRegisters | None
        Registers for the driver "modbus-register".
    line : tuple[ScaleLine, ...]
        The forms, tried in their order; none for a driver that reads no lines.
    """

    name: Name
    kind: Literal["scale"] = "scale"
    title: Annotated[str, Field(max_length=200)] = ""
    driver: Name = "streaming"
    port: PortSettings = PortSettings()
    frame: Frame = Frame()
    numbers: Numbers
    units: dict[str, ShortText] = Field(default_factory=dict[str, str])
    unit: Annotated[str, Field(max_length=12)] = ""
    state: StateWords = StateWords()
    tare: KindWords = KindWords()
    minus: tuple[str, ...] = ("-",)
    plus: tuple[str, ...] = ("+",)
    checksum: Checksum | None = None
    modbus: ModbusRegisters | None = None
    line: Annotated[tuple[ScaleLine, ...], Field(max_length=32)] = ()

    @property
    def vocabulary(self) -> Vocabulary:
        """The fields its templates may use."""
        state = self.state
        words = {
            "unit": tuple(self.units),
            "state": (*state.steady, *state.moving, *state.over, *state.under, *state.none),
            "kind": (*self.tare.net, *self.tare.gross),
            "sign": (*self.minus, *self.plus),
        }
        patterns = {"check": self.checksum.pattern} if self.checksum else {}
        return Vocabulary(numbers=NUMBER_FIELDS, words=words, patterns=patterns, style=self.numbers.style)

    @model_validator(mode="after")
    def _templates_fit(self) -> Self:
        """Compile every template once, so that a bad one is found when the profile is read."""
        for line in self.line:
            try:
                template = Template(line.text, self.vocabulary)
            except TemplateError as error:
                raise ValueError(str(error)) from error
            fields = template.fields
            if line.says == "weight":
                if "value" not in fields or template.may_be_missing("value"):
                    raise ValueError(
                        f"template {line.text!r} says weight and has no {{value}} field that is always there"
                    )
                if "unit" not in fields and not self.unit:
                    raise ValueError(f"template {line.text!r} has no {{unit}} field and the profile names no unit")
            if self.checksum and not line.text.endswith("{check}"):
                raise ValueError(f"template {line.text!r} does not end with {{check}}, the profile has a checksum")
        return self
