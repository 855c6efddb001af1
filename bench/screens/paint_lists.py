"""Lists: the jobs, the timeline of one, what remains before the sign-off."""

from __future__ import annotations

from textual.content import Content

from bench.screens.safe_text import plain, safe
from bench.use_cases.sign_off import what_is_missing
from bench.use_cases.view import BenchView, TrailLine

NO_JOBS = "No job yet.\n\nPress n to open one, or leave with q and type: spinledger demo"


def job_rows(view: BenchView) -> list[tuple[str, str, str, str, str]]:
    """Return the jobs' rows for a table.

    Parameters
    ----------
    view : BenchView
        The bench.

    Returns
    -------
    list[tuple[str, str, str, str, str]]
        Number, step, title, customer, day.
    """
    return [
        (
            safe(line.number),
            line.step + (" SIM" if line.simulated else ""),
            safe(line.title, most=40),
            safe(line.customer, most=40),
            line.last_utc[:10],
        )
        for line in view.jobs
    ]


def trail_content(lines: tuple[TrailLine, ...], *, wanted: str, with_raw: bool) -> Content:
    """Return the timeline, filtered, with the instruments' own lines on demand.

    Parameters
    ----------
    lines : tuple[TrailLine, ...]
        Oldest first.
    wanted : str
        Only lines with these letters; empty for all.
    with_raw : bool
        Show the instruments' lines.

    Returns
    -------
    Content
        One line an event.
    """
    rows: list[Content] = []
    for line in lines:
        if wanted and wanted.lower() not in line.words.lower():
            continue
        rows.append(plain(f"{line.seq:>5} {line.when[11:19]} {line.by:<4} {line.how:<9} {line.words}"))
        if with_raw:
            rows += [plain(f"        | {raw}", "$foreground-muted") for raw in line.raw]
    return Content("\n").join(rows) if rows else plain("Nothing here yet.", "$foreground-muted")


def sign_off_content(view: BenchView) -> Content:
    """Return what is done, what remains, and what comes next.

    Parameters
    ----------
    view : BenchView
        The bench.

    Returns
    -------
    Content
        Lines.
    """
    if view.job is None or view.review is None:
        return Content("")
    parts: list[Content] = []
    if view.job.signed_off is not None:
        parts.append(plain(f"Signed off by {view.job.signed_off.entry.by or 'nobody named'}.", "bold $text-success"))
    missing = what_is_missing(view.review)
    parts += [plain(f"still open: {words}", "bold $text-warning") for words in missing]
    parts += [plain(line.words) for line in view.review.planes]
    if view.review.percent_figure is not None:
        figure = view.review.percent_figure
        parts.append(
            plain(f"worst plane is {figure:.3f} % of the bobweight (a figure, no verdict)", "$foreground-muted")
        )
    parts += [plain(f"look: {words}", "$text-warning") for words in view.review.warnings[:6]]
    if view.job.signed_off is None:
        parts.append(plain("Deburr every hole, clean the crank, then press o to sign off."))
    else:
        parts.append(plain("Press c to write the certificate."))
    if view.certificate_path:
        parts.append(plain(f"certificate: {view.certificate_path}", "bold"))
    return Content("\n").join(parts)
