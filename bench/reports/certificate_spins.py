"""The certificate's runs, cuts and verdicts, from the job's state and review to printed words."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

from bench.computation.unbalance import PlaneVerdict
from bench.models.job_state import Cut, JobState, Spin
from bench.models.on_crank import no_verdict_words, with_all
from bench.models.rotor_set import missing_parts, name_of, rotor_name
from bench.reports.figures import NONE, angle, figure, moment
from bench.reports.polar import PolarPicture, polar_picture
from bench.use_cases.view import Review

MOST_RUNS = 8
MOST_CUTS = 10


@dataclass(frozen=True, slots=True)
class PrintedRun:
    """One run; `gap` says instead what was left out here."""

    number: int
    when: str
    label: str
    speed: str
    planes: tuple[tuple[str, str, str], ...]
    cuts_before: int
    typed: bool
    gap: str = ""
    without: str = ""


@dataclass(frozen=True, slots=True)
class PrintedVerdict:
    """What the last run says of one plane."""

    plane: str
    amount: str
    angle: str
    limit: str
    limit_words: str
    verdict: str
    words: str
    inside: bool


@dataclass(frozen=True, slots=True)
class PrintedCut:
    """One cut, or `gap`: what was left out."""

    plane: str
    after_run: str
    grams: str
    angle: str
    hole: str
    gap: str = ""


def runs(state: JobState) -> tuple[PrintedRun, ...]:
    """Return the runs; of very many the first two and the last ones, and a line that says so.

    Parameters
    ----------
    state : JobState
        The job.

    Returns
    -------
    tuple[PrintedRun, ...]
        Oldest first.
    """
    spins = state.spins
    if len(spins) <= MOST_RUNS:
        return tuple(_run(state, spin) for spin in spins)
    tail = spins[-(MOST_RUNS - 3) :]
    between = spins[2 : -(MOST_RUNS - 3)]
    gap = f"{len(between)} runs, {between[0].number} to {between[-1].number}, are in the trail"
    row = PrintedRun(0, "", "", "", (), cuts_before=0, typed=False, gap=gap)
    return (*(_run(state, s) for s in spins[:2]), row, *(_run(state, s) for s in tail))


def _run(state: JobState, spin: Spin) -> PrintedRun:
    shown = {amount.plane: amount for amount in spin.planes}
    planes: list[tuple[str, str, str]] = []
    for plane in state.spec.planes:
        amount = shown.get(plane.name)
        planes.append(
            (plane.name, figure(amount.amount_g, 2), angle(amount.angle_deg)) if amount else (plane.name, NONE, NONE)
        )
    return PrintedRun(
        number=spin.number,
        when=moment(spin.entry.utc).removesuffix(" UTC"),
        label=spin.label,
        speed=figure(spin.speed_rpm, 0),
        planes=tuple(planes),
        cuts_before=spin.after_cuts,
        typed=spin.entry.how == "typed",
        without=no_verdict_words(missing_parts(state.spec, spin)),
    )


def verdicts(review: Review) -> tuple[PrintedVerdict, ...]:
    """Return what the last run says, a line a plane.

    Parameters
    ----------
    review : Review
        The job, computed.

    Returns
    -------
    tuple[PrintedVerdict, ...]
        In the job's order of planes.
    """
    return tuple(
        PrintedVerdict(
            plane=line.plane,
            amount=figure(line.amount_g, 2),
            angle=angle(line.angle_deg),
            limit=figure(line.limit_g, 2),
            limit_words=line.limit_words,
            verdict=str(line.verdict.value),
            words="" if line.words.endswith(line.verdict.value) else line.words,
            inside=line.verdict is PlaneVerdict.INSIDE,
        )
        for line in review.planes
    )


def whole_verdict(state: JobState, review: Review) -> tuple[str, bool]:
    """Return the verdict of the whole rotor in words, and whether it is inside.

    Parameters
    ----------
    state : JobState
        The job.
    review : Review
        The job, computed.

    Returns
    -------
    tuple[str, bool]
        Sentence and yes or no.
    """
    where = "in both planes" if len(state.spec.planes) == 2 else "in its plane"
    unfit = [str(line.throw) for line in review.throws if line.made_g is None or not line.within]
    if review.whole_verdict is PlaneVerdict.INSIDE and unfit:
        # what was spun is not what the parts ask for, so the planes alone prove nothing
        named = f"throw{'s' if len(unfit) > 1 else ''} {', '.join(unfit)}"
        return f"Inside tolerance {where}, but spun with bobweights not within their band: {named}", False
    if review.no_verdict and state.spins:
        return f"No verdict: {review.no_verdict}", False
    if review.whole_verdict is PlaneVerdict.INSIDE:
        return _inside(state, review, where)
    if not state.spins:
        return "Not spun yet: nothing is known about its unbalance", False
    return f"Not inside tolerance: {review.whole_verdict.value}", False


def _inside(state: JobState, review: Review, where: str) -> tuple[str, bool]:
    if review.set_open:
        return f"{rotor_name(state).capitalize()} inside tolerance {where}, but {'; '.join(review.set_open)}", False
    if state.rotors_done:
        names = [*(name_of(done.stage, done.spec) for done in state.rotors_done), rotor_name(state)]
        return f"Every rotor of the set inside its tolerance: {', '.join(names)}", True
    return f"Inside tolerance {where}", True


def pictures(state: JobState, review: Review) -> tuple[PolarPicture, ...]:
    """Return one polar picture a plane.

    Parameters
    ----------
    state : JobState
        The job.
    review : Review
        The job, computed.

    Returns
    -------
    tuple[PolarPicture, ...]
        In the job's order of planes.
    """
    limits = {line.plane: line.limit_g for line in review.planes}
    return tuple(
        polar_picture(
            plane=plane.name,
            runs=[
                (spin.number, shown.amount_g, shown.angle_deg)
                for spin in state.spins
                for shown in with_all(state, spin).planes
                if shown.plane == plane.name
            ],
            limit_g=limits.get(plane.name, state.spec.tolerance.shop_limit_g or 0.0),
            centre_deg=plane.centre_deg,
            arc_deg=plane.arc_deg,
        )
        for plane in state.spec.planes
    )


def cuts(state: JobState) -> tuple[PrintedCut, ...]:
    """Return the cuts; of very many the last ones, and a line that counts the others.

    Parameters
    ----------
    state : JobState
        The job.

    Returns
    -------
    tuple[PrintedCut, ...]
        Oldest first.
    """
    made = state.cuts
    if len(made) <= MOST_CUTS:
        return tuple(_cut(state, index, cut) for index, cut in enumerate(made))
    first = len(made) - MOST_CUTS + 1
    gap = PrintedCut("", "", "", "", "", gap=f"{first} earlier cuts are in the trail")
    return (gap, *(_cut(state, index, cut) for index, cut in enumerate(made) if index >= first))


def _cut(state: JobState, index: int, cut: Cut) -> PrintedCut:
    before = [spin.number for spin in state.spins if spin.after_cuts <= index]
    hole: list[str] = []
    if cut.diameter_mm is not None:
        hole.append(f"ø {cut.diameter_mm:g}")
    if cut.depth_mm is not None:
        hole.append(f"{cut.depth_mm:.1f} deep")
    words = " × ".join(hole) + (" mm" if hole else "")
    return PrintedCut(
        plane=cut.plane,
        after_run=str(max(before)) if before else NONE,
        grams=figure(-cut.grams, 2, signed=True),
        angle=angle(cut.angle_deg),
        hole=", ".join(part for part in (cut.station, words) if part),
    )


def removed_in_all(state: JobState) -> str:
    """Return how much metal went, a plane.

    Parameters
    ----------
    state : JobState
        The job.

    Returns
    -------
    str
        Sentence, empty without cuts.
    """
    sums: dict[str, float] = defaultdict(float)
    for cut in state.cuts:
        sums[cut.plane] += -cut.grams
    count = len(state.cuts)
    if not count:
        return ""
    parts = ", ".join(f"{plane} {figure(total, 1, signed=True)} g" for plane, total in sums.items())
    return f"{count} cut{'s' if count > 1 else ''}; in all {parts} at the correction radius"
