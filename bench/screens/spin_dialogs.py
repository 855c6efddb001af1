"""What is typed in the spin step: what was really drilled, and where metal may be taken from this crank."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from pydantic import ValidationError

from bench.models.job import CorrectionPlane
from bench.models.job_state import Cut, JobState
from bench.models.stations import CrankStation, StationHole, StationKeepOut, StationSet
from bench.screens.form_dialog import FormComplaintError, FormDialog, FormField
from bench.screens.quantities import number_of
from bench.use_cases.commands import Command, EnterStations, PutCutsRight, RecordCuts
from bench.use_cases.view import CutLine, Proposal

MORE_CUTS = 2
MOST_LINES = 6
_CUT_FORM = "place, angle°, then grams, or drill x depth mm, or chips and their grams"
_CUT_HELP = (
    "A line a hole, as it was really made; empty the line of one that was not. Minus grams: heavy metal put in. Chips "
    "that were weighed, or a hole that was measured, teach the program more than grams from the card."
)
_STATION_FORM = "name; at mm; radius mm; middle °; arc °; drills mm; depth mm; keep °/half °; hole °/mm/mm deep"
_STATION_HELP = (
    "The name begins with its plane. At: along the crank from the front plane. Radius: where a hole starts. Middle and "
    "arc: where the metal is, from the mark, edge to edge. Depth: the limit of the crank's maker. Keep: what must not "
    "be touched, its middle and half its width. Hole: one that is there, its angle, drill and depth."
)
_LABEL_CELLS = 12


class LinesDialog(FormDialog):
    """A dialog of long lines: the labels give way to what is typed."""

    def on_mount(self) -> None:
        """Make the labels narrow and begin at the first field."""
        for label in self.query(".field Label"):
            label.styles.width = _LABEL_CELLS


def cuts_as_made(proposal: Proposal | None, state: JobState) -> FormDialog:
    """Return the dialog for cuts that were made otherwise than proposed: a line a cut, an empty one was not made.

    Parameters
    ----------
    proposal : Proposal | None
        Fills the lines.
    state : JobState
        For planes and stations.

    Returns
    -------
    FormDialog
        Gives a RecordCuts.
    """
    recorded = cuts_in_doubt(proposal, state)
    if recorded:
        return _put_right(recorded, state)
    places = _places(state)
    proposed = proposal.cuts if proposal else ()
    count = len(proposed) + MORE_CUTS

    def read(answers: Mapping[str, str]) -> Command:
        cuts = [
            cut_from(answers[f"cut-{i}"], f"cut-{i}", places, proposed[i] if i < len(proposed) else None)
            for i in range(count)
            if answers[f"cut-{i}"]
        ]
        if not cuts:
            raise FormComplaintError("cut-0", "no cut is left: press Escape, or type one")
        return RecordCuts(tuple(cuts))

    fields = [FormField(f"cut-{i}", f"cut {i + 1}", cut_words(cut), help=_CUT_HELP) for i, cut in enumerate(proposed)]
    fields += [FormField(f"cut-{len(proposed) + i}", "one more", help=_CUT_HELP) for i in range(MORE_CUTS)]
    return LinesDialog(f"What was really drilled: {_CUT_FORM}", fields, read)


def cuts_in_doubt(proposal: Proposal | None, state: JobState) -> tuple[Cut, ...]:
    """Return the recorded cuts that can still be put right: those no run has seen, or those a run does not bear out.

    Parameters
    ----------
    proposal : Proposal | None
        What is proposed now.
    state : JobState
        The job.

    Returns
    -------
    tuple[Cut, ...]
        Empty when new cuts are due.
    """
    seen = state.spins[-1].after_cuts if state.spins else 0
    if len(state.cuts) > seen:
        return state.cuts[seen:]
    if proposal is None or not proposal.doubt:
        return ()
    before = next((s.after_cuts for s in reversed(state.spins) if s.after_cuts < seen), 0)
    return state.cuts[before:seen]


def _put_right(recorded: Sequence[Cut], state: JobState) -> FormDialog:
    places = _places(state)
    lines = [
        CutLine(c.plane, c.angle_deg, c.grams, station=c.station, diameter_mm=c.diameter_mm, depth_mm=c.depth_mm)
        for c in recorded
    ]

    def read(answers: Mapping[str, str]) -> Command:
        right: list[tuple[str, CutLine]] = []
        for i, (cut, line) in enumerate(zip(recorded, lines, strict=True)):
            text = answers[f"cut-{i}"]
            if not text:
                raise FormComplaintError(f"cut-{i}", "a cut that was not made is told with 0 g: place, angle, 0 g")
            if text != cut_words(line):
                right.append((cut.entry.event_id, cut_from(text, f"cut-{i}", places, line)))
        if not right:
            raise FormComplaintError("cut-0", "nothing is changed: press Escape, or correct a line")
        return PutCutsRight(tuple(right))

    fields = [FormField(f"cut-{i}", f"cut {i + 1}", cut_words(line), help=_CUT_HELP) for i, line in enumerate(lines)]
    return LinesDialog(f"Put right what was recorded: {_CUT_FORM}; 0 g for not made", fields, read)


def _places(state: JobState) -> dict[str, tuple[str, str]]:
    """Return what a person may call a place: plane and station of each."""
    places = {plane.name: (plane.name, "") for plane in state.spec.cut_planes}
    for station in state.stations.stations if state.stations else ():
        places[station.name] = (station.plane, station.name)
    return places


def cut_words(cut: CutLine) -> str:
    """Return a cut as one line that can be edited.

    Parameters
    ----------
    cut : CutLine
        As proposed.

    Returns
    -------
    str
        For example "front 1 168.0 26.2 g 16x21.1".
    """
    hole = f" {cut.diameter_mm:g}x{cut.depth_mm:.1f}" if cut.diameter_mm and cut.depth_mm else ""
    return f"{cut.station or cut.plane} {cut.angle_deg:.1f} {cut.grams:.1f} g{hole}"


def cut_from(text: str, field: str, places: Mapping[str, tuple[str, str]], proposed: CutLine | None = None) -> CutLine:
    """Return the cut a line tells of.

    Parameters
    ----------
    text : str
        Place, angle, then grams, or drill x depth, or "chips" and their grams.
    field : str
        Which field, for the complaint.
    places : Mapping[str, tuple[str, str]]
        Plane and station by what a person calls them.
    proposed : CutLine | None
        What had been proposed here; tells how deep a hole was already.

    Returns
    -------
    CutLine
        With grams 0 where the hole or the chips tell them.

    Raises
    ------
    FormComplaintError
        When the line cannot be read.
    """
    name = max((n for n in places if text == n or text.startswith(f"{n} ")), key=len, default="")
    if not name:
        raise FormComplaintError(field, f"'{text}' begins with no place; wanted {' or '.join(places)}")
    words = text[len(name) :].replace("°", " ").replace("mm", " ").split()
    if not words:
        raise FormComplaintError(field, f"'{text}': wanted {_CUT_FORM}")
    angle = float(number_of(field, words[0]))
    grams, chips, hole = _amounts(words[1:], field)
    if chips is not None or (hole is not None and _only_the_hole_changed(text, proposed)):
        # what was weighed or measured counts, not the grams of the card
        grams = None
    if grams is None and chips is None and hole is None:
        raise FormComplaintError(field, f"'{text}': wanted {_CUT_FORM}")
    diameter, depth = hole if hole is not None and grams != 0.0 else (None, None)
    plane, station = places[name]
    return CutLine(
        plane=plane,
        station=station,
        angle_deg=angle,
        grams=grams if grams is not None else 0.0,
        diameter_mm=diameter,
        depth_mm=depth,
        from_depth_mm=proposed.from_depth_mm if proposed is not None else 0.0,
        chips_g=chips,
    )


def _amounts(words: Sequence[str], field: str) -> tuple[float | None, float | None, tuple[float, float] | None]:
    """Return grams, weighed chips, and drill with depth, as far as a line tells them."""
    grams: float | None = None
    chips: float | None = None
    hole: tuple[float, float] | None = None
    weighed = False
    for word in (w.lower() for w in words):
        if word == "chips":
            weighed = True
        elif "x" in word:
            first, _, second = word.partition("x")
            hole = float(number_of(field, first)), float(number_of(field, second))
        elif word != "g":
            value = float(number_of(field, word.removesuffix("g")))
            grams, chips, weighed = (grams, value, False) if weighed else (value, chips, False)
    return grams, chips, hole


def _only_the_hole_changed(text: str, proposed: CutLine | None) -> bool:
    if proposed is None:
        return False
    told, made = cut_words(proposed).split(), text.split()
    return told != made and told[:-1] == made[:-1] and "x" in told[-1]


def enter_stations(state: JobState, known: Sequence[StationSet]) -> FormDialog:
    """Return the dialog that asks where metal may be taken: a line a station.

    Parameters
    ----------
    state : JobState
        For its planes and the stations it has.
    known : Sequence[StationSet]
        Templates; naming one without a line takes it.

    Returns
    -------
    FormDialog
        Gives an EnterStations.
    """
    now = state.stations
    planes = state.spec.cut_planes
    lines = [station_words(s) for s in now.stations] if now else [_skeleton(plane) for plane in planes]
    lines += [""] * max(0, MOST_LINES - len(lines))
    templates = {s.crank_type: s for s in known}

    def read(answers: Mapping[str, str]) -> Command:
        told = [(f"station-{i}", answers[f"station-{i}"]) for i in range(len(lines)) if answers[f"station-{i}"]]
        crank_type = answers["type"]
        if not crank_type:
            raise FormComplaintError("type", "wanted a name for this type of crank, e.g. its casting number")
        untouched = [text for _, text in told] == [text for text in lines if text]
        if crank_type in templates and (not told or untouched) and (now is None or now.crank_type != crank_type):
            return EnterStations(templates[crank_type])
        stations = [station_from(text, field, planes) for field, text in told]
        try:
            whole = StationSet(crank_type=crank_type, measured=bool(answers["measured"]), stations=tuple(stations))
        except ValidationError as fault:
            raise FormComplaintError("station-0", fault.errors(include_url=False)[0]["msg"]) from None
        misfit = whole.what_does_not_fit(state.spec)
        if misfit:
            raise FormComplaintError("station-0", misfit)
        return EnterStations(whole)

    hint = f" (known: {', '.join(templates)})" if templates else ""
    return LinesDialog(
        f"Where metal may be taken. Each line: {_STATION_FORM}",
        (
            FormField("type", f"crank type{hint}", now.crank_type if now else ""),
            FormField("measured", "measured on this crank, to the millimetre and the degree", tick=True),
            *(FormField(f"station-{i}", f"station {i + 1}", text, help=_STATION_HELP) for i, text in enumerate(lines)),
        ),
        read,
    )


def _skeleton(plane: CorrectionPlane) -> str:
    middle = f"{plane.centre_deg:g}" if plane.centre_deg is not None else "all round"
    return (
        f"{plane.name} 1; at {plane.position_mm:g}; radius {plane.radius_mm:g}; middle {middle}; "
        f"arc {plane.arc_deg:g}; drills 12 16; depth 25"
    )


def station_words(station: CrankStation) -> str:
    """Return a station as one line that can be edited.

    Parameters
    ----------
    station : CrankStation
        The station.

    Returns
    -------
    str
        For example "front 1; at 30; radius 92; middle 180; arc 120; drills 12 16; depth 32".
    """
    middle = f"{station.centre_deg:g}" if station.centre_deg is not None else "all round"
    parts = [
        station.name,
        *([] if station.name.split()[0] == station.plane else [f"plane {station.plane}"]),
        f"at {station.position_mm:g}",
        f"radius {station.outer_radius_mm:g}",
        f"middle {middle}",
        f"arc {station.arc_deg:g}",
        f"drills {' '.join(f'{d:g}' for d in station.drills_mm)}",
        f"depth {station.most_depth_mm:g}",
    ]
    parts += [f"keep {k.centre_deg:g}/{k.half_width_deg:g} {k.what}".rstrip() for k in station.keep_outs]
    parts += [f"hole {h.angle_deg:g}/{h.diameter_mm:g}/{h.depth_mm:g}" for h in station.holes]
    return "; ".join(parts)


def station_from(text: str, field: str, planes: Sequence[CorrectionPlane]) -> CrankStation:
    """Return the station a line tells of.

    Parameters
    ----------
    text : str
        Parts with semicolons between them, each a word and its figures; the name first.
    field : str
        Which field, for the complaint.
    planes : Sequence[CorrectionPlane]
        The job's planes.

    Returns
    -------
    CrankStation
        What is not told is the plane's.

    Raises
    ------
    FormComplaintError
        When a part cannot be read.
    """
    name, *parts = [part.strip() for part in text.split(";") if part.strip()]
    told: dict[str, list[str]] = {}
    keep_outs: list[StationKeepOut] = []
    holes: list[StationHole] = []
    for part in parts:
        word, *figures = part.split()
        if word == "keep" and figures:
            centre, half = _figures(field, part, figures[0], 2)
            keep_outs.append(StationKeepOut(centre_deg=centre, half_width_deg=half, what=" ".join(figures[1:])))
        elif word == "hole" and figures:
            angle, diameter, depth = _figures(field, part, figures[0], 3)
            holes.append(StationHole(angle_deg=angle, diameter_mm=diameter, depth_mm=depth))
        elif word in {"plane", "at", "radius", "middle", "arc", "drills", "depth"} and figures:
            told[word] = figures
        else:
            raise FormComplaintError(field, f"'{part}' is not understood; wanted {_STATION_FORM}")
    plane_name = " ".join(told.get("plane", name.split()[:1]))
    plane = next((p for p in planes if p.name == plane_name), None)
    if plane is None:
        raise FormComplaintError(field, f"plane '{plane_name}'; wanted {' or '.join(p.name for p in planes)}")
    if "drills" not in told or "depth" not in told:
        raise FormComplaintError(field, f"{name}: wanted drills and the depth limit")

    def one(word: str, else_: float) -> float:
        return float(number_of(field, told[word][0])) if word in told else else_

    round_metal = told.get("middle", [""])[0] == "all" or ("middle" not in told and plane.centre_deg is None)
    try:
        return CrankStation(
            name=name,
            plane=plane.name,
            position_mm=one("at", plane.position_mm),
            outer_radius_mm=one("radius", plane.radius_mm),
            centre_deg=None if round_metal else one("middle", plane.centre_deg or 0.0),
            arc_deg=one("arc", plane.arc_deg),
            drills_mm=tuple(float(number_of(field, d)) for d in told["drills"]),
            most_depth_mm=one("depth", math.nan),
            keep_outs=tuple(keep_outs),
            holes=tuple(holes),
        )
    except ValidationError as fault:
        first = fault.errors(include_url=False, include_input=False)[0]
        where = str(first["loc"][0]) if first["loc"] else "station"
        raise FormComplaintError(field, f"{name}, {where}: {first['msg']}") from None


def _figures(field: str, part: str, text: str, count: int) -> list[float]:
    figures = text.split("/")
    if len(figures) != count:
        raise FormComplaintError(field, f"'{part}': wanted {count} figures with strokes between them, e.g. 185/6")
    return [float(number_of(field, figure)) for figure in figures]
