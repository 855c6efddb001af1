"""Every kind of event says one plain sentence."""

from __future__ import annotations

from typing import get_args

from trail_pieces import SetClock, one_of_each, opening, weight

from bench.trail import events as e
from bench.trail.memory import MemoryTrail
from bench.trail.words import event_in_words


def test_every_kind_has_its_sentence() -> None:
    trail = MemoryTrail(bench="south", clock=SetClock())
    drafts = one_of_each()
    sentences = [event_in_words(event) for event in trail.append(drafts)]
    kinds = get_args(get_args(e.AnyPayload)[0])
    assert len(sentences) == len(kinds) == len({draft.payload.kind for draft in drafts})
    assert all(isinstance(sentence, str) and len(sentence) > 8 for sentence in sentences)
    assert len(set(sentences)) == len(sentences)
    assert not any("None" in sentence or "Decimal" in sentence for sentence in sentences)


def test_parts_by_the_words_of_the_trade() -> None:
    trail = MemoryTrail(bench="south", clock=SetClock())
    opened, taken = trail.append([opening("2031-0001"), weight("610.5", kind="rod_whole", place=2)])
    assert isinstance(opened.payload, e.JobOpened)
    assert event_in_words(taken, opened.payload.spec) == "rod, whole 2: 610.5 g (u 0.050 g)"
    assert event_in_words(taken) == "rod_whole 2: 610.5 g (u 0.050 g)"


def test_some_sentences_whole() -> None:
    trail = MemoryTrail(bench="south", clock=SetClock())
    first = weight("412.30")
    drafts = [
        first,
        weight("412.2", supersedes=first.id),
        weight("409.9", supersedes=first.id, reason="weighed again", doubtful=True),
    ]
    assert [event_in_words(event) for event in trail.append(drafts)] == [
        "piston 1: 412.30 g (u 0.050 g)",
        "piston 1: 412.2 g (u 0.050 g), amended at lift",
        "piston 1: 409.9 g (u 0.050 g, uncertain), weighed again",
    ]
    named = {event.payload.kind: event_in_words(event) for event in trail.append(one_of_each())}
    assert named["cut-made"] == "4.0 g removed at front 30.0°, drill 10 mm, 8.2 mm deep"
    assert named["clock-stepped"] == "the clock stepped by -3600 s"
    assert named["spin-run"] == "run 1: front 4.25 g at 30.0°; rear 3.50 g at 30.0°"
    assert named["cell-skipped"] == "piston 2: left for later"
    assert named["job-brought-in"] == "job 2030-0009 of bench north brought in to look at, 40 events"
    assert "\x1b[2J" in named["note-written"]  # faces clean it; the record keeps it
