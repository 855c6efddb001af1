"""Rows of lists: the jobs, the timeline of one, what remains before the sign-off."""

from __future__ import annotations

from collections.abc import Mapping

from textual.content import Content

from bench.computation.unbalance import PlaneVerdict
from bench.models.job_state import JobLine, JobState
from bench.models.rotor_set import name_of
from bench.screens.actions import BY_ID, key_words
from bench.screens.glyphs import GlyphSet
from bench.screens.paint_spin import VERDICTS, amount_words
from bench.screens.palette import state_style
from bench.screens.safe_text import clipped, folded, padded, plain
from bench.trail.clock import local_moment
from bench.use_cases.sign_off import what_is_missing
from bench.use_cases.view import BenchView, Review, TrailLine

NO_JOBS = """\
Nothing is in this record yet. What would you like to do?
"""
NO_JOBS_BELOW = """
A job is one engine or rotor: weigh, bobweights, spin, drill, sign off.
Arrow keys and Enter, the letter, or a click. F1 explains, q leaves.\
"""
FIRST_STEPS: tuple[tuple[str, str], ...] = (
    ("bench.simulate", "Try it on a simulated bench, marked SIMULATED: nothing is connected"),
    ("bench.tour", "Take the two-minute tour on that bench"),
    ("bench.connect", "Connect my scale"),
    ("bench.new", "Open my first job"),
    ("bench.guide", "Read how it goes, page by page"),
    ("bench.initials", "Say who is at the bench, so that the record names you"),
)
"""What a person can do with an empty record: the action, and a line for it."""


NUMBER, STEP, DAY = 13, 15, 11
WARNINGS_SHOWN = 6
WIDEST_TRAIL = 200


def first_step(act_id: str, words: str, keys: Mapping[str, str]) -> Content:
    """Return a row of the first screen.

    Parameters
    ----------
    act_id : str
        The action.
    words : str
        What it does.
    keys : Mapping[str, str]
        Keys that were remapped, by the action's id.

    Returns
    -------
    Content
        The key, then the words.
    """
    key = key_words(keys.get(act_id, BY_ID[act_id].key))
    return Content.assemble(Content.styled(padded(key, 5), "bold"), words)


def _job_columns(width: int) -> tuple[int, int]:
    rest = max(width - NUMBER - STEP - DAY, 20)
    title = rest * 6 // 10
    return title, rest - title


def job_heads(width: int) -> str:
    """Return the heads over the list of jobs.

    Parameters
    ----------
    width : int
        Room in cells.

    Returns
    -------
    str
        One line.
    """
    title, customer = _job_columns(width)
    return (
        f"{padded('job', NUMBER)}{padded('stands at', STEP)}{padded('what', title)}{padded('for whom', customer)}last"
    )


def job_row(line: JobLine, width: int) -> Content:
    """Return a job as a row.

    Parameters
    ----------
    line : JobLine
        The job.
    width : int
        Room in cells.

    Returns
    -------
    Content
        One line.
    """
    title, customer = _job_columns(width)
    step = f"{line.step} SIM" if line.simulated else line.step
    return Content.assemble(
        Content.styled(padded(line.number, NUMBER - 1), "bold"),
        f" {padded(step, STEP - 1)} {padded(line.title, title - 1)} {padded(line.customer, customer - 1)} ",
        clipped(local_moment(line.last_utc)[:10], DAY),
    )


def trail_rows(
    lines: tuple[TrailLine, ...], *, wanted: str, with_raw: bool, width: int = WIDEST_TRAIL
) -> list[Content]:
    """Return the timeline, filtered, with the instruments' own lines on demand.

    Parameters
    ----------
    lines : tuple[TrailLine, ...]
        Oldest first.
    wanted : str
        Only lines with these letters; empty for all.
    with_raw : bool
        Show the instruments' lines.
    width : int
        Room in cells; longer words go on below themselves.

    Returns
    -------
    list[Content]
        A line or more an event, a day's line where a day begins.
    """
    rows: list[Content] = []
    day = ""
    for line in lines:
        if wanted and wanted.lower() not in f"{line.words} {line.by} {line.how}".lower():
            continue
        when = line.local or line.when
        if when[:10] != day:
            day = when[:10]
            rows.append(plain(day, "bold $accent"))
        head = f"{line.seq:>5} {when[11:19]} {padded(line.by, 4)} {padded(line.how, 9)} "
        first, *more = folded(line.words, max(width - len(head), 20))
        rows.append(Content.assemble(plain(head, "$faint"), Content(first)))
        rows += [Content(" " * len(head) + rest) for rest in more]
        if with_raw:
            rows += [plain(f"{'':21}{safe_raw}", "$good") for safe_raw in line.raw]
    if rows:
        return rows
    words = f"Nothing with '{wanted}' in it: clear the filter." if wanted else "Nothing happened in this job yet."
    return [plain(words, "$faint")]


def sign_off_rows(view: BenchView, glyphs: GlyphSet, *, width: int) -> list[Content]:
    """Return what is done, what remains, and what comes next.

    Parameters
    ----------
    view : BenchView
        The bench.
    glyphs : GlyphSet
        What the console can draw.
    width : int
        Room in cells.

    Returns
    -------
    list[Content]
        One a line.
    """
    if view.job is None or view.review is None:
        return [Content("")]
    review = view.review
    rows = [Content(""), *_findings(view.job, review, glyphs, width=width), Content("")]
    rows += _what_now(view, view.job, review, glyphs, width=width)
    if review.percent_figure is not None:
        figure = f" worst plane is {review.percent_figure:.3f} % of the bobweight: a shop's figure, never a verdict"
        rows.append(plain(clipped(figure, width), "$faint"))
    return rows + [row for words in review.warnings[:WARNINGS_SHOWN] for row in _said("ask", words, glyphs, width)]


def _said(level: str, words: str, glyphs: GlyphSet, width: int) -> list[Content]:
    return [plain(line, state_style(level)) for line in folded(f" {glyphs.level(level)} {words}", width, indent=3)]


def _findings(job: JobState, review: Review, glyphs: GlyphSet, *, width: int) -> list[Content]:
    rows: list[Content] = []
    for plane in review.planes:
        word, level = VERDICTS[plane.verdict]
        limit = f"limit {plane.limit_g:.2f} g ({plane.limit_words})"
        rows += _said(level, f"{plane.plane}: {word.lower()}, {amount_words(plane)}, {limit}", glyphs, width)
    for done in job.rotors_done:
        words = f"{name_of(done.stage, done.spec)}: {'inside' if done.inside else f'NOT inside, {done.words}'}, frozen"
        rows += _said("good" if done.inside else "ask", words, glyphs, width)
    missing = what_is_missing(review)
    rows += [row for words in missing for row in _said("ask", f"still open: {words}", glyphs, width)]
    if not missing:
        rows += _said("good", "everything is weighed and made, and every plane is inside", glyphs, width)
        if review.warnings:
            rows += _said("ask", "not every part is within its set's limit: what is out stands below", glyphs, width)
    signed = job.signed_off
    for ticked, words in (
        (signed is not None and signed.deburred, "every hole deburred"),
        (signed is not None and signed.cleaned, "crank clean, no chip left in an oil hole"),
    ):
        rows.append(Content(f" {glyphs.tick_on if ticked else glyphs.tick_off} {words}"))
    return rows


def _what_now(view: BenchView, job: JobState, review: Review, glyphs: GlyphSet, *, width: int) -> list[Content]:
    rows: list[Content] = []
    signed = job.signed_off
    if signed is not None:
        words = f"signed off by {signed.entry.by or 'nobody named'}. {signed.words}".strip()
        rows += _said("good" if signed.within_tolerance else "ask", words, glyphs, width)
    elif not job.spins and review.whole_verdict is not PlaneVerdict.INSIDE:
        rows.append(Content.styled(" No run yet: spin first (key 3).", "bold $accent"))
    else:
        rows.append(Content.styled(" Deburr, clean, then press o: tick both and sign off.", "bold $accent"))
    if view.certificate_path:
        rows.append(plain(clipped(f" certificate: {view.certificate_path}", width), "bold"))
    elif job.certificates:
        rows.append(plain(clipped(f" certificate: {job.certificates[-1].file_name}", width), "bold"))
    elif signed is not None:
        rows.append(Content.styled(" Press c to write the certificate.", "bold $accent"))
    return rows
