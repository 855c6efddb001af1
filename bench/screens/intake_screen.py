"""A new job: pick the layout with a picture of its throws and banks, then fill in the rest; or copy an old job."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cache
from typing import ClassVar

from pydantic import ValidationError
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from bench.computation.engine_layouts import layout_named, share_advice
from bench.models.job import EngineLayout, JobSpec, Tolerance
from bench.screens.form_dialog import FormComplaintError, FormDialog, FormDoubtError, FormField
from bench.screens.glyphs import GlyphSet
from bench.screens.layout_picture import front_rows, side_rows
from bench.screens.picture import Picture
from bench.screens.quantities import GRAM_MILLIMETRES, GRAMS, MILLIMETRES, amount, split_unit
from bench.screens.safe_text import plain
from bench.screens.shop import IntakeStart
from bench.use_cases.commands import Command, CreateJob
from bench.use_cases.intake_doubts import doubts_of
from bench.use_cases.job_templates import JobTemplate, template_words
from bench.use_cases.part_choices import CHOICES, USUAL, kinds_of
from bench.use_cases.usual_layouts import DISC, layouts_to_pick, planes_for

FIRST_LAYOUT = "v8-90-cross-plane"
FIELD_OF = {
    "planes": "radius",
    "shop_limit_g": "limit",
    "grade_mm_per_s": "grade",
    "oil_g": "oil",
    "rotor_mass_kg": "mass",
    "speed_rpm": "speed",
    "bobweight_g": "band",
    "tolerance": "limit",
    "reciprocating_share": "share",
}


@cache
def _layouts() -> dict[str, EngineLayout]:
    return layouts_to_pick()


def advice_words(name: str) -> tuple[str, ...]:
    """Return what a layout needs in its bobweights and what that leaves.

    Parameters
    ----------
    name : str
        Key of the layout.

    Returns
    -------
    tuple[str, ...]
        A sentence each.
    """
    if name == DISC:
        return ("One plane, no parts to weigh.", "Two planes: edit the job file.")
    advice = share_advice(layout_named(name).cylinders)
    first = (
        "Bobweights needed."
        if advice.bobweights_needed
        else "Equal masses balance each other here: no bobweights needed."
    )
    left = [words for words, value in (("force", advice.force_left), ("couple", advice.couple_left)) if value > 1e-9]
    rest = f"With 50 % a first-order {' and a '.join(left)} is left." if left else "With 50 % no first order is left."
    return first, rest


class LayoutScreen(ModalScreen["str | JobTemplate | None"]):
    """Gives the key of the layout or the shop's template that was picked, or None.

    Parameters
    ----------
    glyphs : GlyphSet
        What the console can draw.
    templates : Sequence[JobTemplate]
        The shop's; they stand first.
    """

    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape", "leave", "Leave", id="layout.leave")]

    def __init__(self, glyphs: GlyphSet, templates: Sequence[JobTemplate] = ()) -> None:
        super().__init__(classes="card")
        self._glyphs = glyphs
        self._templates = tuple(templates)
        self._names = tuple(_layouts())

    def compose(self) -> ComposeResult:
        """Lay out the list and the picture.

        Yields
        ------
        Widget
            Side by side.
        """
        with Vertical(classes="sheet-of-paper wide tall", id="layouts-card"):
            title = "a template of the shop, or the engine's layout" if self._templates else "the engine's layout"
            yield Static(Content.styled(f"A new job, 1 of 2: {title}", "bold"), markup=False)
            with Horizontal(id="layouts-body"):
                lines = [plain(f"* {template.name}") for template in self._templates]
                lines += [Content(_layouts()[name].name) for name in self._names]
                yield OptionList(*(Option(line) for line in lines), id="layouts")
                yield Picture(id="layout-picture")
            yield Static(Content.styled("arrow keys, Enter picks, Escape leaves", "$faint"), markup=False)

    def on_mount(self) -> None:
        """Begin at the most usual one."""
        self.query_one("#layouts", OptionList).focus()
        self.call_after_refresh(self._begin)

    def _begin(self) -> None:
        first = 0 if self._templates else self._names.index(FIRST_LAYOUT)
        self.query_one("#layouts", OptionList).highlighted = first

    def _at(self, index: int) -> str | JobTemplate:
        count = len(self._templates)
        return self._templates[index] if index < count else self._names[index - count]

    def on_option_list_option_highlighted(self, event: OptionList.OptionHighlighted) -> None:
        """Draw the layout that is marked.

        Parameters
        ----------
        event : OptionList.OptionHighlighted
            Which.
        """
        event.stop()
        marked = self._at(event.option_index)

        def draw(width: int, height: int) -> Content:
            return Content("\n").join(self.drawn(marked, width, height))

        self.query_one("#layout-picture", Picture).put(draw, key=marked if isinstance(marked, str) else marked.name)

    def drawn(self, marked: str | JobTemplate, width: int, height: int) -> list[Content]:
        """Return the picture and the words of a layout or a template.

        Parameters
        ----------
        marked : str | JobTemplate
            The layout's key, or the template.
        width, height : int
            The box in cells.

        Returns
        -------
        list[Content]
            At most `height` lines.
        """
        if isinstance(marked, str):
            layout, told = _layouts()[marked], advice_words(marked)
        else:
            layout, told = marked.spec.layout, (template_words(marked.spec),)
        words = [plain(line) for line in _wrapped(told, width)]
        sides = [Content.styled(line, "$faint") for line in side_rows(layout, width=width)]
        room = height - len(words) - len(sides)
        if room < 7:
            sides, room = [], height - len(words)
        heads = [Content.styled("seen from the front", "$faint")] if layout.throws else []
        rows = front_rows(layout, width=width, height=max(1, room - len(heads)), glyphs=self._glyphs)
        return [*heads, *(rows if layout.throws else []), *sides, *words]

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        """Pick.

        Parameters
        ----------
        event : OptionList.OptionSelected
            Which.
        """
        event.stop()
        self.dismiss(self._at(event.option_index))

    def action_leave(self) -> None:
        """Leave."""
        self.dismiss(None)


def _wrapped(sentences: tuple[str, ...], width: int) -> list[str]:
    from textwrap import wrap

    return [line for sentence in sentences for line in wrap(sentence, max(width, 10))]


def _limit(answers: Mapping[str, str], radius_mm: float, start: IntakeStart) -> float:
    """Return the limit at the correction radius, in grams whatever unit was typed."""
    unit = split_unit(answers["limit"])[1]
    if unit in GRAM_MILLIMETRES:
        whole = amount(answers, "limit", GRAM_MILLIMETRES, usual="gmm") or 0.0
        return whole / radius_mm
    return amount(answers, "limit", GRAMS, usual="oz" if start.imperial else "g") or 0.0


def _spec(name: str, answers: Mapping[str, str], start: IntakeStart) -> JobSpec:
    layout = _layouts()[name]
    mass, length = ("oz", "in") if start.imperial else ("g", "mm")
    share = amount(answers, "share", {"": 1.0}, usual="") or 0.0
    if not 0 <= share <= 100:
        raise FormComplaintError("share", "wanted per cent from 0 to 100; 50 for a 90 degree V with two rods a pin")
    radius = amount(answers, "radius", MILLIMETRES, usual=length) or 0.0
    if radius <= 0:
        raise FormComplaintError("radius", "wanted a radius above 0, e.g. 90 mm")
    rotor = amount(
        answers,
        "mass",
        {k: v / 1000.0 for k, v in GRAMS.items()},
        usual="lb" if start.imperial else "kg",
        optional=True,
    )
    return JobSpec(
        title=answers["title"],
        customer=answers["customer"],
        engine=answers["engine"],
        serial=answers["serial"],
        layout=layout,
        kinds=kinds_of(answers.get("parts") or USUAL) if layout.throws else (),
        reciprocating_share=share / 100.0,
        oil_g=amount(answers, "oil", GRAMS, usual=mass) or 0.0,
        rotor_mass_kg=rotor,
        speed_rpm=amount(answers, "speed", {"": 1.0, "rpm": 1.0, "min": 1.0}, usual="", optional=True),
        planes=planes_for(layout, radius_mm=radius),
        balance="external" if answers.get("balance") == "external" else "internal",
        tolerance=Tolerance(
            shop_limit_g=_limit(answers, radius, start),
            grade_mm_per_s=amount(answers, "grade", {"": 1.0, "mms": 1.0}, usual="", optional=True),
            bobweight_g=amount(answers, "band", GRAMS, usual=mass) or 0.0,
            spin_uncertainty_g=start.spin_uncertainty_g,
        ),
    )


def _complaint(fault: ValidationError, known: frozenset[str]) -> FormComplaintError:
    first = fault.errors(include_url=False, include_input=False)[0]
    where = [str(part) for part in first["loc"]] or ["title"]
    field = next((FIELD_OF.get(part, part) for part in reversed(where) if FIELD_OF.get(part, part) in known), "title")
    words = str(first["msg"]).removeprefix("Value error, ")
    if "grade needs" in words:
        return FormComplaintError("mass", "a balance quality grade needs the rotor's mass and its highest speed")
    return FormComplaintError(field, f"{where[-1]}: {words}")


def _asked_twice(spec: JobSpec, answers: Mapping[str, str]) -> None:
    doubts = doubts_of(spec)
    if doubts and not answers.get(FormDialog.SURE):
        raise FormDoubtError(doubts[0].field, tuple(doubt.words for doubt in doubts))


def new_job(name: str, start: IntakeStart) -> FormDialog:
    """Return the form of a new job.

    Parameters
    ----------
    name : str
        Key of the layout that was picked.
    start : IntakeStart
        What the fields begin with.

    Returns
    -------
    FormDialog
        Gives a CreateJob.
    """
    fields = _fields(name, start)
    known = frozenset(field.name for field in fields)

    def read(answers: Mapping[str, str]) -> Command:
        full = {"oil": "0", "share": "50", **answers}
        try:
            spec = _spec(name, full, start)
        except ValidationError as fault:
            raise _complaint(fault, known) from None
        _asked_twice(spec, full)
        return CreateJob(spec)

    return FormDialog(f"A new job, 2 of 2: {_layouts()[name].name}", fields, read)


def _fields(name: str, start: IntakeStart) -> tuple[FormField, ...]:
    mass, length, heavy = ("oz", "in", "lb") if start.imperial else ("g", "mm", "kg")
    who = (
        FormField("title", "what the job is called", help="One line to find it by, for example the boat and the side."),
        FormField("customer", "whose engine", help="Stands on the certificate; may stay empty."),
        FormField("engine", "engine", help="What kind of engine, as you would say it; may stay empty."),
        FormField("serial", "serial number", help="The crank's or the engine's own number; may stay empty."),
    )
    crank = (
        FormField(
            "parts",
            "what is weighed",
            USUAL,
            choices=CHOICES,
            help="Rods hung by both ends give a check: both ends together must weigh what the rod weighs.",
        ),
        FormField(
            "share",
            "reciprocating share, per cent",
            "50",
            help="50 takes the whole forward first order away in any layout. Another share is a choice, asked about.",
        ),
        FormField(
            "oil",
            f"oil allowance a throw [{mass}]",
            _typed(start.oil_g, GRAMS[mass]),
            help="Oil that clings to a throw when it runs; usually 4 to 6 g. It counts in every bobweight.",
        ),
        FormField(
            "band",
            f"band of a bobweight [{mass}]",
            _typed(start.bobweight_g, GRAMS[mass]),
            help="A bobweight within this band of its number counts as made; usually 0.1 g.",
        ),
        FormField(
            "balance",
            "balance",
            "internal",
            choices=(("internal", "internal"), ("external", "external: weights on flywheel or damper belong to it")),
            help="External: flywheel and damper must be on the crank when it spins; key - says what each carries.",
        ),
    )
    plane = (
        FormField(
            "radius",
            f"correction radius [{length}]",
            _typed(start.radius_mm, MILLIMETRES[length]),
            help="Where on the counterweight an amount in grams counts: as it is set on the balancing machine.",
        ),
        FormField(
            "limit",
            f"limit a plane at that radius [{mass}]",
            _typed(start.shop_limit_g, GRAMS[mass]),
            help="What may be left in each plane; it decides what is done. 90 g mm, 0.1 oz in are understood.",
        ),
        FormField(
            "grade",
            "balance quality grade G [mm/s]",
            help="Only where the job asks for a grade of ISO 21940-11; may stay empty.",
        ),
        FormField("mass", f"rotor's mass [{heavy}]", help="Crank with its bobweights; only the grade needs it."),
        FormField("speed", "highest speed [1/min]", help="The speed it will run at most; only the grade needs it."),
    )
    return (*who, *(() if name == DISC else crank), *plane)


def _typed(value: float | None, size: float) -> str:
    return "" if value is None else f"{value / size:.6g}"
