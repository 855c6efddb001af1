"""The profile of a balancing machine's text: planes, angles, units, and how the text is laid out."""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import Field, field_validator, model_validator

from drivers.balancers.row_profile import FixedColumns, Table
from drivers.profile import Name, Numbers, PortSettings, ShortText, Strict
from drivers.template import Template, TemplateError, Vocabulary

Unit = Literal["g", "g mm", "oz in"]
Encoding = Literal["utf-8", "utf-16", "latin-1", "cp1252", "cp437", "ascii"]


class AngleMeaning(Strict):
    """What the machine's angle means. Nothing here has a default: each is a physical fact of the machine.

    Attributes
    ----------
    zero_deg : float
        Where the machine's zero lies, counter-clockwise from the bench's zero, seen from the front. [deg]
    sense : str
        Which way the machine's angle grows: "counter-clockwise" or "clockwise".
    seen_from : str
        From which end that is seen: "front" or "rear".
    shows : str
        "excess" when the readout shows where mass is to be removed, "missing" when it shows where to add.
    scale : str
        "degrees", or "clock hours" (12 is the zero, an hour is 30 degrees).
    signed : bool
        True when the machine prints -180 to 180 instead of 0 to 360.
    """

    zero_deg: Annotated[float, Field(ge=-360.0, le=360.0, allow_inf_nan=False)]
    sense: Literal["counter-clockwise", "clockwise"]
    seen_from: Literal["front", "rear"]
    shows: Literal["excess", "missing"]
    scale: Literal["degrees", "clock hours"] = "degrees"
    signed: bool = False

    def heavy_angle_deg(self, shown: float) -> float:
        """Return where the excess mass is.

        Parameters
        ----------
        shown : float
            The angle as printed. [deg, or hours of the clock]

        Returns
        -------
        float
            Counter-clockwise positive seen from the front, in [0, 360). [deg]

        Examples
        --------
        >>> AngleMeaning(zero_deg=0, sense="clockwise", seen_from="front", shows="missing").heavy_angle_deg(30.0)
        150.0
        """
        turned = shown * 30.0 if self.scale == "clock hours" else shown
        if (self.sense == "clockwise") == (self.seen_from == "front"):
            turned = -turned
        if self.shows == "missing":
            turned += 180.0
        heavy = (turned + self.zero_deg) % 360.0
        return 0.0 if heavy == 360.0 else heavy

    def put_right(self, *, mirrored: bool, turned_by_deg: float) -> AngleMeaning:
        """Return the meaning after runs with a known mass showed it to be otherwise.

        Parameters
        ----------
        mirrored : bool
            The angles go the other way round.
        turned_by_deg : float
            What is to be added to the angle of the excess, once it goes the right way. [deg]

        Returns
        -------
        AngleMeaning
            Half a turn off the zero counts as the other of excess and missing.

        Examples
        --------
        >>> told = AngleMeaning(zero_deg=0, sense="clockwise", seen_from="front", shows="missing")
        >>> right = told.put_right(mirrored=True, turned_by_deg=180.0)
        >>> right.sense, right.shows, right.zero_deg
        ('counter-clockwise', 'excess', 0.0)
        """
        half = 180.0 if self.shows == "missing" else 0.0
        whole = (-1.0 if mirrored else 1.0) * (self.zero_deg + half) + turned_by_deg
        off = (whole + 180.0) % 360.0 - 180.0
        missing = abs(off) > 135.0 or (self.shows == "missing" and abs(off) > 45.0)
        zero = round((whole - (180.0 if missing else 0.0) + 180.0) % 360.0 - 180.0, 1)
        other = {"counter-clockwise": "clockwise", "clockwise": "counter-clockwise"}
        return self.model_copy(
            update={
                "sense": other[self.sense] if mirrored else self.sense,
                "zero_deg": zero + 0.0,
                "shows": "missing" if missing else "excess",
            }
        )


class BlockLine(Strict):
    """One form of a line inside a run.

    Attributes
    ----------
    text : str
        The template; ``{plane}``, ``{amount}``, ``{angle}``, ``{unit}``, ``{speed}``, ``{label}``.
    needed : bool
        True when a run without this line is not whole; ignored for lines with a plane, which are all needed.
    plane : str
        The bench's plane the line belongs to when the line does not name it; empty otherwise.
    """

    text: ShortText
    needed: bool = False
    plane: Annotated[str, Field(max_length=20)] = ""


class Block(Strict):
    """How a run stands in the text as lines with keys.

    Attributes
    ----------
    begin : str
        Template of the line that begins a run.
    end : str
        Template of the line that ends a run; a run without it is not whole.
    line : tuple[BlockLine, ...]
        The lines between.
    others : str
        "refuse" when a line of no known form makes the text unreadable, "pass" when it is passed over.
    """

    begin: ShortText
    end: ShortText
    line: Annotated[tuple[BlockLine, ...], Field(min_length=1, max_length=32)]
    others: Literal["refuse", "pass"] = "refuse"


class BalancerProfile(Strict):
    """A balancing machine's text, told in a file.

    Attributes
    ----------
    name : str
        Name of the profile.
    kind : str
        Always "balancer".
    title : str
        One sentence for a list.
    driver : str
        Which reader takes it: "keyed-block", "delimited-table", "fixed-columns" or a plug-in's name.
    port : PortSettings
        How its port is opened, when the text comes over a wire.
    encoding : str
        Character set of the text; a byte order mark goes before it.
    numbers : Numbers
        How numbers are written.
    planes : dict[str, str]
        Plane names as printed, each with the bench's name.
    units : dict[str, Unit]
        Unit words as printed, each with its unit.
    unit : Unit | None
        The unit when the text names none.
    angle : AngleMeaning
        What the machine's angle means.
    end_mark : str
        What ends a capture from a port; empty when silence ends it.
    block : Block | None
        The layout for "keyed-block".
    table : Table | None
        The layout for "delimited-table".
    columns : FixedColumns | None
        The layout for "fixed-columns".
    checked : str
        When and how the meaning of the angles was checked with a known mass; empty when it never was.
    alone : str
        The bench's plane that a run may have alone, because the machine is set to one plane for flywheels and the like;
        empty where a run without all planes is not whole.
    """

    name: Name
    kind: Literal["balancer"] = "balancer"
    title: Annotated[str, Field(max_length=200)] = ""
    driver: Name
    port: PortSettings = PortSettings(quiet_is_normal=True)
    encoding: Encoding = "utf-8"
    numbers: Numbers
    planes: Annotated[dict[str, ShortText], Field(min_length=1, max_length=8)]
    units: dict[str, Unit] = Field(default_factory=dict[str, Unit])
    unit: Unit | None = None
    angle: AngleMeaning
    end_mark: Annotated[str, Field(max_length=40)] = ""
    block: Block | None = None
    table: Table | None = None
    columns: FixedColumns | None = None
    checked: Annotated[str, Field(max_length=200)] = ""
    alone: Annotated[str, Field(max_length=20)] = ""

    @property
    def vocabulary(self) -> Vocabulary:
        """The fields its templates may use."""
        return Vocabulary(
            numbers=frozenset({"amount", "angle", "speed", "other"}),
            words={"plane": tuple(self.planes), "unit": tuple(self.units)},
            texts=frozenset({"label"}),
            style=self.numbers.style,
        )

    @property
    def bench_planes(self) -> tuple[str, ...]:
        """The bench's planes, each once, in the profile's order."""
        return tuple(dict.fromkeys(self.planes.values()))

    @field_validator("planes")
    @classmethod
    def _planes_have_names(cls, planes: dict[str, str]) -> dict[str, str]:
        """Refuse empty words, which would match anywhere."""
        if not all(planes):
            raise ValueError("a plane name as printed is empty")
        return planes

    @model_validator(mode="after")
    def _templates_fit(self) -> Self:
        """Compile every template once, so that a bad one is found when the profile is read."""
        rows = self.table.columns if self.table else self.columns.fields if self.columns else {"unit": ""}
        if "unit" not in rows and self.unit is None:
            raise ValueError("the rows have no unit field and the profile names no unit")
        if self.block is None:
            return self
        vocabulary = self.vocabulary
        try:
            for text in (self.block.begin, self.block.end):
                Template(text, vocabulary)
            for line in self.block.line:
                fields = Template(line.text, vocabulary).fields
                if "amount" in fields and "unit" not in fields and self.unit is None:
                    raise ValueError(f"template {line.text!r} has no {{unit}} field and the profile names no unit")
        except TemplateError as error:
            raise ValueError(str(error)) from error
        return self
