"""Sums that must close: a rod's two ends on the whole rod, all parts of a cylinder on their sum."""

from __future__ import annotations

from math import fsum, hypot

from bench.capture.decisions import Expected, Taken
from bench.computation.rod_ends import rod_closure
from bench.models.job import Cell, PartRole, label_of
from bench.models.job_state import JobState
from bench.trail.events import NoteWritten
from bench.use_cases.aside import Aside, Outcome
from bench.use_cases.errors import RefusedError
from bench.use_cases.scribe import Scribe
from bench.use_cases.view import Instruction

COVERAGE = 2.0


def rod_words(state: JobState, cell: Cell) -> str:
    """Return what is wrong between the ends of a rod and the whole, once all three are weighed.

    Parameters
    ----------
    state : JobState
        The job.
    cell : Cell
        The cell that was weighed last.

    Returns
    -------
    str
        One sentence; empty when it closes or is not known.
    """
    names = {kind.role: kind.name for kind in state.spec.kinds}
    roles = (PartRole.ROD_WHOLE, PartRole.ROD_BIG_END, PartRole.ROD_SMALL_END)
    if cell.kind not in {names.get(role) for role in roles}:
        return ""
    found = [state.weighed.get(Cell(kind=names[role], place=cell.place)) for role in roles if role in names]
    there = [w for w in found if w is not None and w.grams > 0]
    if len(there) < len(roles):
        return ""
    whole, big, small = there
    closure = rod_closure(
        whole_g=float(whole.grams),
        big_end_g=float(big.grams),
        small_end_g=float(small.grams),
        standard_uncertainty_g=max(w.standard_uncertainty_g for w in there),
        coverage_factor=COVERAGE,
    )
    if closure.closes:
        return ""
    return (
        f"rod {cell.place}: small end {small.grams} g and big end {big.grams} g make {small.grams + big.grams} g, the "
        f"whole rod is {whole.grams} g: off {closure.off_g:+.1f} g, allowed {closure.allowed_g:.1f} g. Is the fixture "
        "level, and does the rod hang freely? Hang both ends again"
    )


def assembly_cells(state: JobState, cylinder: int) -> tuple[Cell, ...]:
    """Return the parts of a cylinder that can lie on the pan together.

    Parameters
    ----------
    state : JobState
        The job.
    cylinder : int
        Which.

    Returns
    -------
    tuple[Cell, ...]
        Every kind that is weighed once per cylinder; of a rod the whole one, or else both its ends.
    """
    kinds = [kind for kind in state.spec.kinds if kind.per == "cylinder"]
    whole = any(kind.role is PartRole.ROD_WHOLE for kind in kinds)
    ends = {PartRole.ROD_SMALL_END, PartRole.ROD_BIG_END}
    return tuple(Cell(kind=k.name, place=cylinder) for k in kinds if not (whole and k.role in ends))


def check_assembly(scribe: Scribe, cylinder: int) -> Aside:
    """Return the weighing of all parts of a cylinder at once against their sum.

    Parameters
    ----------
    scribe : Scribe
        Who writes.
    cylinder : int
        Which.

    Returns
    -------
    Aside
        To be handed to the weigh station; the result is noted in the job.

    Raises
    ------
    RefusedError
        When no job is open, there is no such cylinder, or a part of it is not weighed yet.
    """
    state = scribe.state
    where = f"all parts of cylinder {cylinder}"
    if state is None:
        raise RefusedError(where, found="no job is open")
    if cylinder not in state.spec.layout.cylinders:
        wanted = ", ".join(str(n) for n in state.spec.layout.cylinders)
        raise RefusedError(where, found="no such cylinder", wanted=f"one of {wanted}")
    cells = assembly_cells(state, cylinder)
    missing = [label_of(state.spec, cell) for cell in cells if cell not in state.weighed]
    if missing or not cells:
        raise RefusedError(where, found=f"not weighed yet: {', '.join(missing) or 'anything'}", do="weigh it first")
    weighed = [state.weighed[cell] for cell in cells]
    total = sum((w.grams for w in weighed[1:]), weighed[0].grams)
    u_sum = hypot(*(w.standard_uncertainty_g for w in weighed))

    def record(taken: Taken) -> Outcome:
        off = float(taken.grams - total)
        allowed = COVERAGE * hypot(u_sum, taken.standard_uncertainty_g)
        good = abs(off) <= allowed
        words = f"cylinder {cylinder}, all parts at once: {taken.grams} g, their sum {total} g, off {off:+.1f} g"
        event = scribe.record([NoteWritten(text=f"{words}, allowed {allowed:.1f} g")], raw=taken.raw)[0]
        told = f"{words}, allowed {allowed:.1f} g (entry {event.seq})"
        return Outcome(told if good else f"{told}: a part was exchanged or misread; weigh them again", good=good)

    parts = ", ".join(state.spec.kind(cell.kind).label for cell in cells)
    due = Expected(
        key=f"assembly {cylinder}",
        kind="assembly",
        label=f"all parts of cylinder {cylinder}",
        nominal_g=fsum(float(w.grams) for w in weighed),
    )
    return Aside(due, Instruction(f"Lay all parts of cylinder {cylinder}", f"Together: {parts}."), record)
