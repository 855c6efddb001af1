"""The line that says where one is, and what stands below: notice, question, instruments."""

from __future__ import annotations

from textual.content import Content

from bench.screens.safe_text import plain
from bench.use_cases.view import BenchView, Step

ORDER = (Step.WEIGH, Step.BOBWEIGHTS, Step.SPIN, Step.SIGN_OFF)
LEVELS = {
    "good": ("OK ", "bold $text-success"),
    "bad": ("NO ", "bold $text-error"),
    "ask": ("?  ", "bold $text-warning"),
    "info": (".  ", "$foreground"),
}


def where_am_i(view: BenchView, *, columns: int) -> Content:
    """Return the top line: job, steps with the present one marked, SIMULATED.

    Parameters
    ----------
    view : BenchView
        The bench.
    columns : int
        Width.

    Returns
    -------
    Content
        One line.
    """
    simulated = Content.styled(" SIMULATED ", "bold $text on $warning-muted") if view.simulated else Content("")
    if view.job is None:
        return Content.assemble(Content.styled(" spinledger ", "bold reverse"), "  jobs  ", simulated)
    work = view.review.step if view.review else None
    steps: list[Content] = []
    for number, step in enumerate(ORDER, 1):
        shown = step is view.shown_step
        done = work is not None and (work is Step.DONE or ORDER.index(step) < _place(work))
        sign = "*" if done else " "
        text = f"{number} {step.value}{sign}"
        steps.append(Content.styled(f"[{text}]" if shown else f" {text} ", "bold reverse" if shown else ""))
    title = f" {view.job.number} "
    room = columns - len(title) - sum(s.cell_length for s in steps) - simulated.cell_length - 2
    name = view.job.spec.title[: max(0, room)]
    return Content.assemble(
        Content.styled(title, "bold reverse"),
        " ",
        *steps,
        simulated,
        " ",
        plain(name, "$foreground-muted"),
    )


def _place(step: Step) -> int:
    return ORDER.index(step) if step in ORDER else len(ORDER)


def notice_line(view: BenchView) -> Content:
    """Return the last sentence, with a word for its level.

    Parameters
    ----------
    view : BenchView
        The bench.

    Returns
    -------
    Content
        One line, empty when nothing was said yet.
    """
    if view.notice is None:
        return Content("")
    sign, style = LEVELS.get(view.notice.level, LEVELS["info"])
    return Content.assemble(Content.styled(sign, style), plain(view.notice.words, style))


def question_line(view: BenchView) -> Content:
    """Return the open question and its answers, or what is wrong with an instrument.

    Parameters
    ----------
    view : BenchView
        The bench.

    Returns
    -------
    Content
        One or two lines; empty when there is neither.
    """
    if view.question is not None:
        answers = [plain(f" {index}: {words} ", "reverse") for index, (_, words) in enumerate(view.question.choices, 1)]
        gaps = [part for answer in answers for part in (Content(" "), answer)]
        return Content.assemble(plain(f"? {view.question.words}", "bold $text-warning"), "\n", *gaps)
    if view.read_only:
        return plain(f"LOOKING ONLY: {view.read_only}", "bold $text-warning")
    wrong = [line for line in view.instruments if line.state not in {"open", "closed"}]
    if wrong:
        return plain(f"{wrong[0].name} {wrong[0].state}: {wrong[0].remedy or wrong[0].words}", "bold $text-warning")
    return Content("")


def cautions(view: BenchView) -> Content:
    """Return the cautions of what is due, a line each.

    Parameters
    ----------
    view : BenchView
        The bench.

    Returns
    -------
    Content
        Empty when there are none.
    """
    return Content("\n").join(plain(f"! {words}", "$text-warning") for words in view.cautions)
