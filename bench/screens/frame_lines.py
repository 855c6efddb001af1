"""The lines around a panel: where am I, what is wrong, the question, the last sentence, the keys."""

from __future__ import annotations

from collections.abc import Mapping

from rich.cells import cell_len
from textual.content import Content
from textual.style import Style

from bench.screens.actions import ACTS, Act, key_words
from bench.screens.glyphs import GlyphSet
from bench.screens.palette import state_style
from bench.screens.safe_text import clipped, folded, plain, safe
from bench.use_cases.view import BenchView, Notice, Step

ORDER = (Step.WEIGH, Step.BOBWEIGHTS, Step.SPIN, Step.SIGN_OFF)
STEP_IDS = {
    Step.WEIGH: "bench.weigh",
    Step.BOBWEIGHTS: "bench.bobweights",
    Step.SPIN: "bench.spin",
    Step.SIGN_OFF: "bench.sign-off",
}
FINE_LINKS = frozenset({"open", "closed"})
TITLE_LEAST = 8


def clickable(text: str, style: str, action: str) -> Content:
    """Return text of ours that does something when it is clicked.

    Parameters
    ----------
    text : str
        Text; data must have gone through `safe` before.
    style : str
        Style.
    action : str
        Action of the dashboard; never from data.

    Returns
    -------
    Content
        With the action attached.
    """
    content = Content(text)
    if style:
        content = content.stylize(style)
    return content.stylize(Style.from_meta({"@click": f"app.{action}"}))


def _place(step: Step) -> int:
    return ORDER.index(step) if step in ORDER else len(ORDER)


def where_line(view: BenchView, *, columns: int, glyphs: GlyphSet) -> Content:
    """Return the top line: the job, its steps with done, here and to do, who is there, SIMULATED.

    Parameters
    ----------
    view : BenchView
        The bench.
    columns : int
        Width.
    glyphs : GlyphSet
        What the console can draw.

    Returns
    -------
    Content
        One line.
    """
    simulated = [Content(" "), Content.styled(" SIMULATED ", "bold reverse $ask")] if view.simulated else []
    by = [plain(f" {clipped(view.by, 12)}", "bold")] if view.by else []
    if not view.by and view.job is not None and not view.read_only:
        by = [Content(" "), clickable("who?", "bold $ask", "act('bench.initials')")]
    if view.job is None:
        return Content.assemble(Content.styled(" spinledger ", "bold reverse $accent"), " jobs", *by, *simulated)
    work = view.review.step if view.review else Step.WEIGH
    here = Step.SIGN_OFF if view.shown_step is Step.DONE else view.shown_step
    name = f" {clipped(view.job.number, 14)} "
    rest = columns - len(name) - sum(part.cell_length for part in (*by, *simulated)) - 1
    steps = _steps(here, work, glyphs, room=rest - cell_len(safe(view.job.spec.title)))
    used = len(name) + sum(part.cell_length for part in (*steps, *by, *simulated)) + 1
    if used > columns:
        place = f"{ORDER.index(here) + 1} {here.value}" if here in ORDER else here.value
        steps = [Content(" "), Content.styled(f"{glyphs.here}{place}", "bold underline $accent")]
        used = len(name) + sum(part.cell_length for part in (*steps, *by, *simulated)) + 1
    if used > columns:
        by, used = [], used - sum(part.cell_length for part in by)
    title = columns - used
    return Content.assemble(
        Content.styled(name, "bold reverse $accent"),
        *([Content(" "), plain(clipped(view.job.spec.title, title), "$faint")] if title >= TITLE_LEAST else []),
        *steps,
        *by,
        *simulated,
    )


def _steps(here: Step, work: Step, glyphs: GlyphSet, *, room: int) -> list[Content]:
    """Return the steps; their words give way to the job's title, those that are done first, then the farthest."""
    gone: set[Step] = set()
    behind = [step for step in ORDER if _place(step) < _place(here)]
    ahead = [step for step in reversed(ORDER) if _place(step) > _place(here)]
    for step in (None, *behind, *ahead):
        if step is not None:
            gone.add(step)
        width = sum(3 + (0 if each in gone else 1 + len(each.value)) for each in ORDER)
        if width <= room:
            break
    else:
        gone.clear()
    steps: list[Content] = []
    for number, step in enumerate(ORDER, 1):
        done = work is Step.DONE or ORDER.index(step) < _place(work)
        sign = glyphs.here if step is here else glyphs.done if done else glyphs.to_do
        words = "" if step in gone else f" {step.value}"
        style = "bold underline $accent" if step is here else "" if done else "$faint"
        steps += [Content(" "), clickable(f"{sign}{number}{words}", style, f"act('{STEP_IDS[step]}')")]
    return steps


def banner(view: BenchView, glyphs: GlyphSet) -> Content:
    """Return what is wrong with the bench and what to do about it.

    Parameters
    ----------
    view : BenchView
        The bench.
    glyphs : GlyphSet
        What the console can draw.

    Returns
    -------
    Content
        Empty when nothing is wrong.
    """
    for line in view.instruments:
        if line.state not in FINE_LINKS:
            words = ". ".join(part.rstrip(". ") for part in (line.words, line.remedy) if part)
            return plain(f" {glyphs.bad} {line.name} {line.state}: {words}", "bold reverse $bad")
    if view.read_only:
        return plain(f" {glyphs.ask} looking only: {view.read_only}", "bold reverse $ask")
    if view.care:
        return plain(f" {glyphs.ask} {view.care}", "reverse $ask")
    return Content("")


def question_rows(view: BenchView, glyphs: GlyphSet, *, width: int) -> list[Content]:
    """Return the open question and its answers with their keys.

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
        Two lines, or none.
    """
    if view.question is None:
        return []
    rows = [plain(clipped(f"{glyphs.ask} {view.question.words}", width), "bold $ask")]
    parts: list[Content] = []
    for number, (_, words) in enumerate(view.question.choices, 1):
        pedal = " PgDn" if number == 1 else ""
        parts += [
            clickable(f" {number}{pedal}  {safe(words)} ", "bold reverse $ask", f"answer({number})"),
            Content(" "),
        ]
    rows.append(Content("").join(parts))
    return rows


def notice_lines(notice: Notice | None, glyphs: GlyphSet, *, width: int, most: int) -> Content:
    """Return the last sentence with its sign, over more than one line where it needs them.

    Parameters
    ----------
    notice : Notice or None
        What was said.
    glyphs : GlyphSet
        What the console can draw.
    width : int
        Room in cells.
    most : int
        Lines it may take; what is beyond them is cut.

    Returns
    -------
    Content
        At least one line.
    """
    if notice is None:
        return Content("")
    lines = folded(f" {glyphs.level(notice.level)} {notice.words}", width, indent=3, most=most)
    return Content.styled("\n".join(lines), state_style(notice.level) or "$ink")


def hint_line(view: BenchView, *, width: int, keys: Mapping[str, str], trail: bool) -> Content:
    """Return the keys that matter now, as many as there is room for.

    Parameters
    ----------
    view : BenchView
        The bench.
    width : int
        Room in cells.
    keys : Mapping[str, str]
        Keys that were remapped, by the action's id.
    trail : bool
        The timeline is shown.

    Returns
    -------
    Content
        One line; each is clickable.
    """
    step = Step.INTAKE if view.job is None else view.shown_step
    acts = [act for act in ACTS if step in act.hints and not act.why(view)]
    if trail:
        acts = [act for act in ACTS if act.id in {"bench.trail", "bench.raw", "bench.help", "bench.everything"}]
    last = [act for act in acts if act.id in {"bench.help", "bench.everything", "bench.quit"}]
    parts: list[Content] = []
    room = width - sum(_hint_width(act, keys) for act in last)
    for act in acts:
        if act in last or _hint_width(act, keys) > room:
            continue
        room -= _hint_width(act, keys)
        parts.append(_hint(act, keys))
    return Content("").join(parts + [_hint(act, keys) for act in last])


def _hint_width(act: Act, keys: Mapping[str, str]) -> int:
    return len(key_words(keys.get(act.id, act.key))) + len(act.label) + 3


def _hint(act: Act, keys: Mapping[str, str]) -> Content:
    action = f"act('{act.id}')"
    return Content.assemble(
        clickable(f" {key_words(keys.get(act.id, act.key))}", "bold $accent", action),
        clickable(f" {act.label} ", "$ink", action),
    )
