"""The spins: a picture a plane, the table of runs, the verdict in words."""

from __future__ import annotations

import math

from textual.content import Content

from bench.computation.unbalance import PlaneVerdict
from bench.models.job_state import JobState
from bench.models.on_crank import with_all
from bench.models.rotor_set import missing_parts
from bench.screens.glyphs import GlyphSet
from bench.screens.palette import state_style
from bench.screens.polar_picture import Arc, PolarScene, Stop, polar_rows
from bench.screens.safe_text import clipped, padded, plain
from bench.use_cases.view import BenchView, PlaneLine

VERDICTS = {
    PlaneVerdict.INSIDE: ("INSIDE", "good"),
    PlaneVerdict.TOO_CLOSE: ("TOO CLOSE TO CALL", "ask"),
    PlaneVerdict.OUTSIDE: ("OUTSIDE", "bad"),
    PlaneVerdict.UNKNOWN: ("NOT KNOWN", "ask"),
}
NARROW = {PlaneVerdict.TOO_CLOSE: "TOO CLOSE"}
"""Shorter words for pictures that have no room for the whole."""


def scene_of(view: BenchView, plane: PlaneLine) -> PolarScene:
    """Return what is to be seen of a plane.

    Parameters
    ----------
    view : BenchView
        The bench.
    plane : PlaneLine
        The plane.

    Returns
    -------
    PolarScene
        Path of the runs, next cuts, arcs.
    """
    state = view.job
    if state is None:
        return PolarScene(limit_g=plane.limit_g)
    path = tuple(
        Stop(amount.amount_g, amount.angle_deg, str(spin.number)[-2:])
        for spin in state.spins
        for amount in with_all(state, spin).planes
        if amount.plane == plane.plane
    )
    proposed = view.proposal.cuts if view.proposal is not None else ()
    cuts = tuple(Stop(abs(cut.grams), cut.angle_deg, "") for cut in proposed if cut.plane == plane.plane)
    spec = next((p for p in state.spec.planes if p.name == plane.plane), None)
    stations = [s for s in state.stations.stations if s.plane == plane.plane] if state.stations is not None else []
    arcs = tuple(Arc(s.centre_deg or 0.0, s.arc_deg if s.centre_deg is not None else 360.0) for s in stations)
    if not stations and spec is not None and spec.centre_deg is not None:
        arcs = (Arc(spec.centre_deg, spec.arc_deg),)
    made = [cut.angle_deg for cut in state.cuts if cut.plane == plane.plane]
    return PolarScene(
        limit_g=plane.limit_g,
        path=path,
        cuts=cuts,
        arcs=arcs,
        holes=(*made, *(hole.angle_deg for s in stations for hole in s.holes)),
        keep_outs=tuple(Arc(k.centre_deg, 2.0 * k.half_width_deg) for s in stations for k in s.keep_outs),
    )


def amount_words(plane: PlaneLine) -> str:
    """Return a plane's last amount and angle.

    Parameters
    ----------
    plane : PlaneLine
        The plane.

    Returns
    -------
    str
        "7.21 g at 238.0°", or that there is none.
    """
    if plane.amount_g is None or plane.angle_deg is None or not math.isfinite(plane.amount_g):
        return "no run yet"
    return f"{plane.amount_g:.2f} g at {plane.angle_deg:.1f}°"


def plane_picture(view: BenchView, plane: PlaneLine, width: int, height: int, glyphs: GlyphSet) -> Content:
    """Return one plane: verdict, picture, amount.

    Parameters
    ----------
    view : BenchView
        The bench.
    plane : PlaneLine
        The plane.
    width, height : int
        The box in cells.
    glyphs : GlyphSet
        What the console can draw.

    Returns
    -------
    Content
        As many lines as the box has.
    """
    word, level = VERDICTS[plane.verdict]
    if plane.amount_g is None:
        word, level = "no run yet", "info"
    sign = f" {glyphs.level(level)} {word} "
    if len(plane.plane) + len(sign) > width:
        sign = f" {glyphs.level(level)} {NARROW.get(plane.verdict, word)} "
    head = Content.assemble(
        Content.styled(clipped(plane.plane, max(width - len(sign) - 1, 4)), "bold"),
        " ",
        Content.styled(sign, state_style(level) or "$faint"),
    )
    lines = [head, *polar_rows(scene_of(view, plane), width=width, height=max(3, height - 2), glyphs=glyphs)]
    if plane.amount_g is None:
        lines.append(plain(clipped(f"limit {plane.limit_g:.2f} g", width), "$faint"))
    else:
        limit = f"  limit {plane.limit_g:.2f}"
        amount = amount_words(plane)
        lines.append(plain(clipped(amount + limit if len(amount + limit) <= width else amount, width), "bold"))
    return Content("\n").join(lines)


def run_table(state: JobState, width: int, height: int) -> Content:
    """Return the runs, the newest last, as many as there is room for.

    Parameters
    ----------
    state : JobState
        The job.
    width, height : int
        The box in cells.

    Returns
    -------
    Content
        A line a run, heads above.
    """
    names = [plane.name for plane in state.spec.planes]
    column = max(11, min(15, (width - 6) // max(len(names), 1)))
    heads = "".join(padded(f"{clipped(name, column - 6)} g  at", column, right=True) for name in names)
    rows = [Content.styled(f"run {heads}", "$faint")]
    if not state.spins:
        rows.append(Content.styled("none yet", "$faint"))
    room = max(1, height - 1)
    for spin in state.spins[-room:]:
        by_name = {amount.plane: amount for amount in spin.planes}
        cells = "".join(
            padded(
                f"{by_name[n].amount_g:.2f} {by_name[n].angle_deg:3.0f}°" if n in by_name else "-", column, right=True
            )
            for n in names
        )
        marks = "T" if spin.entry.how == "typed" else ""
        marks += "!" if missing_parts(state.spec, spin) != () else ""
        line = f"{spin.number:>3} {cells}" + (marks.rjust(2) if marks else "")
        rows.append(Content.styled(line, "bold $accent" if spin is state.spins[-1] else ""))
    return Content("\n").join(rows)
