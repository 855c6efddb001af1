"""A view of the bench as what the wall page draws: plain words and numbers, nothing of the customer."""

from __future__ import annotations

import math
import unicodedata
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from bench.models.job_state import JobState
    from bench.use_cases.view import BenchView, Proposal, Review

Moment = dict[str, Any]
LONGEST = 400
RUNS_SHOWN = 40
_HIDDEN = frozenset({"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"})


def plain(text: str) -> str:
    r"""Return text without what acts on a reader unseen: controls and direction marks show as their code.

    Parameters
    ----------
    text : str
        Anything from outside.

    Returns
    -------
    str
        One line, not too long.

    Examples
    --------
    >>> plain("pump\u202egnp.exe")
    'pump<202E>gnp.exe'
    """
    shown = "".join(f"<{ord(c):02X}>" if unicodedata.category(c) in _HIDDEN else c for c in text[:LONGEST])
    return shown if len(text) <= LONGEST else f"{shown}…"


def _number(value: float | None) -> float | None:
    return float(value) if value is not None and math.isfinite(value) else None


def moment_of(view: BenchView) -> Moment:
    """Return what the wall shows of a view.

    Parameters
    ----------
    view : BenchView
        One moment of the bench.

    Returns
    -------
    Moment
        JSON values only.
    """
    job = view.job
    return {
        "simulated": view.simulated,
        "job": None if job is None else {"number": plain(job.number), "title": plain(job.spec.title)},
        "step": view.shown_step.value,
        "headline": plain(view.instruction.headline),
        "detail": plain(view.instruction.detail),
        "live": {
            "shown": plain(view.live.shown),
            "unit": plain(view.live.unit),
            "phase": plain(view.live.phase),
            "difference": _number(view.live.difference_g),
        },
        "notice": None if view.notice is None else {"words": plain(view.notice.words), "level": view.notice.level},
        "question": None if view.question is None else plain(view.question.words),
        "cautions": [plain(words) for words in view.cautions],
        "instruments": [
            {"name": plain(one.name), "state": plain(one.state)}
            for one in view.instruments
            if one.state not in {"open", "closed"}
        ],
        "sets": [] if view.review is None else _sets(view.review),
        "verdict": "unknown" if view.review is None else view.review.whole_verdict.value,
        "planes": [] if job is None or view.review is None else _planes(job, view.review, view.proposal),
    }


def _sets(review: Review) -> list[Moment]:
    return [
        {
            "label": plain(line.label),
            "done": sum(grams is not None for grams in line.grams),
            "of": len(line.grams),
            "spread": _number(line.spread_g),
            "out": any(line.out),
        }
        for line in review.sets
    ]


def _planes(job: JobState, review: Review, proposal: Proposal | None) -> list[Moment]:
    cuts = proposal.cuts if proposal is not None else ()
    return [
        {
            "plane": plain(line.plane),
            "limit": _number(line.limit_g),
            "verdict": line.verdict.value,
            "words": plain(line.words),
            "runs": [
                [spin.number, _number(shown.amount_g), _number(shown.angle_deg)]
                for spin in job.spins[-RUNS_SHOWN:]
                for shown in spin.planes
                if shown.plane == line.plane
            ],
            "cuts": [
                {
                    "angle": _number(cut.angle_deg),
                    "grams": _number(cut.grams),
                    "depth": _number(cut.depth_mm),
                    "drill": _number(cut.diameter_mm),
                }
                for cut in cuts
                if cut.plane == line.plane
            ],
        }
        for line in review.planes
    ]
