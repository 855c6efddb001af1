"""What is said when the dashboard is left."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "screens"))

from listening_desk import weighing

from bench.command_line.open_command import left_words
from bench.use_cases.view import BenchView, Step


def test_a_job_that_goes_on_is_named_with_what_comes_next() -> None:
    view = weighing()
    assert view.job is not None
    kept, on = left_words(view)
    assert view.job.number in kept
    assert view.instruction.headline in kept
    assert f"spinledger open {view.job.number}" in on


def test_nothing_is_said_where_nothing_goes_on() -> None:
    view = weighing()
    assert view.review is not None
    assert left_words(BenchView()) == ()
    assert left_words(replace(view, review=replace(view.review, step=Step.DONE))) == ()
