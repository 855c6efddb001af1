"""The bobweights as text: the sum of the one that is due, and how all of them stand."""

from __future__ import annotations

from textual.content import Content

from bench.screens.safe_text import plain
from bench.use_cases.view import BenchView, ThrowLine


def difference_words(difference_g: float | None) -> tuple[str, str]:
    """Return the big text and the word for a difference to the target.

    Parameters
    ----------
    difference_g : float | None
        Positive means add. [g]

    Returns
    -------
    tuple[str, str]
        Digits, and "add", "take off" or "on target".
    """
    if difference_g is None:
        return "---.-", ""
    if abs(difference_g) < 0.05:
        return f"{abs(difference_g):.1f}", "ON TARGET"
    return f"{abs(difference_g):.1f}", "ADD" if difference_g > 0 else "TAKE OFF"


def throw_table(throws: tuple[ThrowLine, ...], *, due: int | None) -> Content:
    """Return one line a throw: target, made, off.

    Parameters
    ----------
    throws : tuple[ThrowLine, ...]
        All of them.
    due : int | None
        The one that is made now.

    Returns
    -------
    Content
        With a heading.
    """
    rows = [Content.styled("throw    target      made      off   state", "$foreground-muted")]
    for line in throws:
        target = f"{line.target_g:9.1f}" if line.target_g is not None else "       --"
        made = f"{line.made_g:>9}" if line.made_g is not None else "       --"
        off = f"{line.off_g:+8.1f}" if line.off_g is not None else "      --"
        if line.target_g is None:
            state, style = f"waits for {len(line.missing)} weights", "$foreground-muted"
        elif line.within:
            state, style = "made", "$text-success"
        elif line.made_g is not None:
            state, style = "bring it to its target", "bold $text-error"
        else:
            state, style = "to be made", ""
        mark = ">" if line.throw == due else " "
        rows.append(Content.styled(f"{mark}{line.throw:<4} {target} {made} {off}   {state}", style))
    return Content("\n").join(rows)


def sum_table(line: ThrowLine | None, *, rows: int) -> Content:
    """Return the itemised sum of a throw.

    Parameters
    ----------
    line : ThrowLine | None
        The throw.
    rows : int
        At most so many lines.

    Returns
    -------
    Content
        One line an item, and the total.
    """
    if line is None or line.target_g is None:
        return plain("The sum stands here when all parts of the throw are weighed.", "$foreground-muted")
    shown = line.lines[: max(1, rows - 2)]
    parts = [
        plain(f"{item.label[:30]:<30} {item.grams:8.1f} x {item.factor:<4g} {item.counted_g:9.2f}") for item in shown
    ]
    if len(shown) < len(line.lines):
        rest = sum(item.counted_g for item in line.lines[len(shown) :])
        parts.append(plain(f"{'and ' + str(len(line.lines) - len(shown)) + ' more':<30} {rest:25.2f}"))
    u = line.standard_uncertainty_g
    wide = "" if u is None else f"  U {2 * u:.2f} g"
    parts.append(Content.styled(f"{'bobweight':<30} {line.target_g:25.2f} g{wide}", "bold"))
    return Content("\n").join(parts)


def spread_words(view: BenchView) -> str:
    """Return the set's mean and spread in words.

    Parameters
    ----------
    view : BenchView
        The bench.

    Returns
    -------
    str
        Empty while there is no target.
    """
    review = view.review
    if review is None or review.bobweight_mean_g is None or review.bobweight_spread_g is None:
        return ""
    return f"mean {review.bobweight_mean_g:.1f} g, spread between throws {review.bobweight_spread_g:.1f} g"
