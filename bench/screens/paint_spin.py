"""The spins: a picture a plane, the table of runs, the verdict in words, the card for the drill."""

from __future__ import annotations

from textual.content import Content

from bench.computation.unbalance import PlaneVerdict
from bench.models.job_state import JobState
from bench.screens.polar_picture import Arc, Mark, polar_picture
from bench.screens.safe_text import plain
from bench.use_cases.view import BenchView, CutLine, PlaneLine, Proposal

VERDICTS = {
    PlaneVerdict.INSIDE: ("INSIDE", "bold $text-success"),
    PlaneVerdict.TOO_CLOSE: ("TOO CLOSE TO CALL", "bold $text-warning"),
    PlaneVerdict.OUTSIDE: ("OUTSIDE", "bold $text-error"),
    PlaneVerdict.UNKNOWN: ("NOT KNOWN", "bold $foreground-muted"),
}
SHOWN_RUNS = 8
WIDE = 100


def plane_picture(view: BenchView, plane: PlaneLine, *, columns: int, rows: int, ascii_only: bool = False) -> Content:
    """Return one plane: path of the runs, tolerance zone, arc of metal, next cut.

    Parameters
    ----------
    view : BenchView
        The bench.
    plane : PlaneLine
        The plane.
    columns, rows : int
        The box in cells.
    ascii_only : bool
        For consoles without quadrant blocks.

    Returns
    -------
    Content
        A heading with the verdict, then the picture.
    """
    state = view.job
    word, style = VERDICTS[plane.verdict]
    heading = Content.assemble(plain(f"{plane.plane} ", "bold"), Content.styled(word, style))
    if state is None:
        return heading
    marks = [
        Mark(amount.amount_g, amount.angle_deg, str(spin.number), "$foreground-muted")
        for spin in state.spins
        for amount in spin.planes
        if amount.plane == plane.plane
    ]
    if marks:
        last = marks[-1]
        marks[-1] = Mark(last.amount_g, last.angle_deg, last.text, "bold reverse")
    if view.proposal is not None:
        marks += [
            Mark(cut.grams, cut.angle_deg, "X", "bold $text-accent")
            for cut in view.proposal.cuts
            if cut.plane == plane.plane
        ]
    spec = next((p for p in state.spec.planes if p.name == plane.plane), None)
    arcs = [Arc(spec.centre_deg, spec.arc_deg)] if spec is not None and spec.centre_deg is not None else []
    picture = polar_picture(
        columns=columns, rows=max(3, rows - 2), limit_g=plane.limit_g, marks=marks, arcs=arcs, ascii_only=ascii_only
    )
    amount = "no run yet" if plane.amount_g is None else f"{plane.amount_g:.2f} g at {plane.angle_deg or 0.0:.1f}°"
    return Content.assemble(heading, "\n", picture, "\n", plain(amount))


def run_table(state: JobState) -> Content:
    """Return the runs, the newest last.

    Parameters
    ----------
    state : JobState
        The job.

    Returns
    -------
    Content
        One line a run.
    """
    names = [plane.name for plane in state.spec.planes]
    rows = [Content.styled("run" + "".join(f"{name[:7] + ' g':>9} at°" for name in names), "$foreground-muted")]
    for spin in state.spins[-SHOWN_RUNS:]:
        cells = "".join(f"{amount.amount_g:9.2f} {amount.angle_deg:3.0f}" for amount in spin.planes)
        rows.append(plain(f"{spin.number:>3}{cells}"))
    return Content("\n").join(rows)


def _cut_words(cut: CutLine) -> str:
    hole = f" drill {cut.diameter_mm:g} mm" if cut.diameter_mm else ""
    hole += f" {cut.depth_mm:.1f} mm deep" if cut.depth_mm else ""
    verb = "take" if cut.grams > 0 else "add"
    return f"at {cut.angle_deg:.1f}° {verb} {abs(cut.grams):.1f} g{hole}"


def _cut_lines(cuts: tuple[CutLine, ...], *, columns: int) -> list[Content]:
    if columns >= WIDE:
        texts = [f"CUT {i}  {c.plane.upper():<6} {_cut_words(c)}" for i, c in enumerate(cuts, 1)]
    else:
        planes = dict.fromkeys(cut.plane for cut in cuts)
        texts = [f"{p.upper():<6}" + ";".join(f" {_cut_words(c)}" for c in cuts if c.plane == p) for p in planes]
    return [plain(text, "bold $text-accent") for text in texts]


def cut_card(proposal: Proposal | None, *, columns: int) -> Content:
    """Return the card for the drill: where, how much, how deep, and why.

    Parameters
    ----------
    proposal : Proposal | None
        The next cuts.
    columns : int
        Width: a line a cut where there is room, else a line a plane.

    Returns
    -------
    Content
        Large enough words; a sentence when there is nothing to cut.
    """
    if proposal is None:
        return Content.styled("Spin, then the next cut stands here.", "$foreground-muted")
    if not proposal.cuts:
        return plain(proposal.why, "bold")
    parts = _cut_lines(proposal.cuts, columns=columns)
    parts.append(plain(proposal.why))
    parts += [plain(words, "$foreground-muted") for words in (*proposal.expected, *proposal.answer)]
    return Content("\n").join(parts)
