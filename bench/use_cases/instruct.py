"""The one thing to do next, in words a person reads from across the room."""

from __future__ import annotations

from bench.capture.decisions import Phase
from bench.computation.unbalance import PlaneVerdict
from bench.models.job import Cell, label_of
from bench.models.job_state import JobState
from bench.models.rotor_set import rotor_name, rotors_to_come
from bench.use_cases.view import Doing, Instruction, Proposal, Question, Review, Step, Want


def lay_words(state: JobState, cell: Cell) -> Instruction:
    """Return the instruction for a part that is due.

    Parameters
    ----------
    state : JobState
        The job.
    cell : Cell
        The part.

    Returns
    -------
    Instruction
        "Lay piston 3 of 8" and the kind's hint.
    """
    kind = state.spec.kind(cell.kind)
    count = len(state.spec.layout.cylinders if kind.per == "cylinder" else state.spec.layout.throws)
    if kind.per == "throw":
        return Instruction(f"Lay {label_of(state.spec, cell)}", kind.hint)
    return Instruction(f"Lay {kind.label} {cell.place} of {count}", kind.hint)


def what_is_wanted(  # noqa: C901, PLR0911 one wish a line
    *,
    state: JobState | None,
    review: Review | None,
    step: Step,
    aim: Cell | None,
    throw: int | None,
    phase: Phase,
    proposal: Proposal | None,
    question: Question | None,
) -> Want:
    """Return what the bench waits for.

    Parameters
    ----------
    state : JobState | None
        The open job.
    review : Review | None
        What is computed of it.
    step : Step
        The step that is worked at.
    aim : Cell | None
        The cell that is due.
    throw : int | None
        The throw whose bobweight is due.
    phase : Phase
        Where the placement is.
    proposal : Proposal | None
        The next cuts.
    question : Question | None
        A question that is open.

    Returns
    -------
    Want
        One thing.
    """
    if state is None or review is None:
        return Want()
    if question is not None:
        return Want(Doing.ANSWER)
    if step in {Step.WEIGH, Step.BOBWEIGHTS} and phase in {Phase.TAKEN, Phase.CLEAR_PAN}:
        return Want(Doing.LIFT if phase is Phase.TAKEN else Doing.EMPTY)
    if step is Step.WEIGH and aim is not None:
        return Want(Doing.LAY, cell=aim)
    if step is Step.BOBWEIGHTS and throw is not None:
        line = next((t for t in review.throws if t.throw == throw), None)
        if line is not None and line.target_g is not None:
            return Want(Doing.MAKE, throw=throw, target_g=line.target_g)
    if step is Step.SPIN:
        if proposal is not None and proposal.cuts:
            return Want(Doing.CUT)
        if review.whole_verdict is PlaneVerdict.INSIDE:
            return Want()
        return Want(Doing.SPIN, run=max((spin.number for spin in state.runs_taken), default=0) + 1)
    if step is Step.SIGN_OFF:
        return Want(Doing.SIGN_OFF)
    return Want()


def instruction_for(  # noqa: C901, PLR0911 one wish a line
    want: Want, *, state: JobState | None, step: Step, scale_words: str, shims: str = ""
) -> Instruction:
    """Return the words of what is wanted.

    Parameters
    ----------
    want : Want
        What the bench waits for.
    state : JobState | None
        The open job.
    step : Step
        The step that is worked at.
    scale_words : str
        What is wrong with the scale; empty when nothing is.
    shims : str
        What of the shop's stock brings a bobweight to its target; empty when nothing is proposed.

    Returns
    -------
    Instruction
        Headline and detail.
    """
    if state is None:
        return Instruction("Open a job", "Choose one of the list, or open a new one.")
    if step in {Step.WEIGH, Step.BOBWEIGHTS} and scale_words:
        return Instruction("Scale not heard", scale_words)
    if want.doing is Doing.LAY and want.cell is not None:
        return lay_words(state, want.cell)
    if want.doing is Doing.LIFT:
        return Instruction("Lift it off", "The value is kept; it is watched until the part leaves.")
    if want.doing is Doing.EMPTY:
        return Instruction("Empty the pan", "Take everything off it and leave it empty for a moment.")
    if want.doing is Doing.MAKE and want.throw is not None and want.target_g is not None:
        return Instruction(
            f"Make bobweight {want.throw}: {want.target_g:.1f} g",
            shims or "Add or take off until the difference is in the band.",
        )
    if want.doing is Doing.ANSWER:
        return Instruction("Look at the question", "")
    if want.doing is Doing.CUT:
        return Instruction("Drill as the card says", "Then record the cuts, and spin again.")
    if want.doing is Doing.SPIN:
        return _spin_words(want, state)
    if want.doing is Doing.SIGN_OFF:
        return Instruction("Deburr, clean, sign off", "Every hole deburred, no chip left in an oil hole.")
    if step is Step.SPIN:
        return _inside_words(state)
    if step is Step.DONE:
        return Instruction(
            "Done", "c writes the certificate again." if state.certificates else "c writes the certificate."
        )
    return Instruction("Nothing is due here", "Go to another step.")


def _inside_words(state: JobState) -> Instruction:
    to_come = rotors_to_come(state)
    if to_come:
        words = f"Key 0 begins it; {rotor_name(state)} is frozen then."
        return Instruction(f"Inside: next the {to_come[0].name}", words)
    return Instruction("All inside: sign off", "Key 4 goes on; another run is taken all the same.")


def _spin_words(want: Want, state: JobState) -> Instruction:
    what = "" if state.stage is None else f", {state.stage.name}"
    plain = Instruction(f"Spin: run {want.run}{what}", "The run is taken from the machine's text by itself.")
    names = [part.name for part in state.spec.mounted]
    if not names:
        if state.spec.balance == "external" and state.stage is None:
            return Instruction(plain.headline, "External balance: which parts belong on the crank? Key - enters them.")
        return plain
    if state.mounted is None:
        return Instruction(f"Mount {' and '.join(names)}, then key 9", "A run counts only with them on the crank.")
    off = [name for name in names if name not in state.mounted]
    if off:
        return Instruction(f"{plain.headline}, without {', '.join(off)}", "No verdict; mounted: key 9.")
    return Instruction(plain.headline, f"Mounted: {', '.join(names)}. The run is taken by itself.")
