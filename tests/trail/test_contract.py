"""One contract, every store: what a trail promises."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import get_args

import pytest
from trail_pieces import SetClock, draft, one_of_each, opening, record, run, weight

from bench.trail import events as e
from bench.trail.codec import FIRST_PREVIOUS, digest
from bench.trail.contract import Trail
from bench.trail.errors import EventRefusedError
from bench.trail.fold import fold
from bench.trail.memory import MemoryTrail

Make = Callable[[SetClock], Trail]


@pytest.fixture(params=["memory", "sqlite", "sqlite again"])
def make(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Make]:
    opened: list[Trail] = []

    def open_one(clock: SetClock) -> Trail:
        if request.param == "memory":
            opened.append(MemoryTrail(bench="south", clock=clock, app_version="0.1.0"))
        else:
            if request.param == "sqlite again":
                record(tmp_path / "r.db", clock).close()
            opened.append(record(tmp_path / "r.db", clock))
        return opened[-1]

    yield open_one
    for trail in opened:
        trail.close()


@pytest.fixture
def clock() -> SetClock:
    return SetClock()


@pytest.fixture
def trail(make: Make, clock: SetClock) -> Trail:
    return make(clock)


class TestContract:
    def test_an_empty_trail(self, trail: Trail) -> None:
        assert trail.bench == "south"
        assert not trail.read_only
        assert list(trail.events()) == []
        assert trail.jobs() == []
        point = trail.checkpoint()
        assert (point.bench, point.length, point.head) == ("south", 0, FIRST_PREVIOUS)
        assert trail.verify() is None

    def test_every_kind_comes_back_as_it_was_given(self, trail: Trail) -> None:
        drafts = one_of_each()
        recorded = trail.append(drafts)
        assert {d.payload.kind for d in drafts} == {get_args(t.model_fields["kind"].annotation)[0] for t in _kinds()}
        assert list(trail.events()) == recorded
        for given, event in zip(drafts, recorded, strict=True):
            assert event.payload == given.payload
            assert event.payload.model_dump_json() == given.payload.model_dump_json()  # 412.30 stays 412.30
            assert (event.id, event.job, event.by, event.how, event.raw) == (
                given.id, given.job, given.by, given.how, given.raw,
            )  # fmt: skip

    def test_the_stamps_and_the_chain(self, make: Make) -> None:
        # a computer that ran for 36 years: more than JSON's whole numbers hold
        trail = make(SetClock(ran_ns=2**60))
        events = trail.append([opening(), weight()])
        assert [event.seq for event in events] == [1, 2]
        assert events[0].previous_hash == FIRST_PREVIOUS
        assert events[1].previous_hash == events[0].hash
        assert events[1].utc == "2031-05-07T08:00:00.000000Z"
        assert (events[1].offset_min, events[1].monotonic_ns, events[1].app_version) == (60, 2**60, "0.1.0")
        assert (trail.checkpoint().length, trail.checkpoint().head) == (2, events[1].hash)

    def test_a_draft_given_again_is_not_recorded_again(self, trail: Trail) -> None:
        first, second = opening(), weight()
        once = trail.append([first, second])
        again = trail.append([second, first, second])
        assert again == [once[1], once[0], once[1]]
        third = weight(place=2)
        assert [event.seq for event in trail.append([second, third, third])] == [2, 3, 3]
        assert trail.checkpoint().length == 3

    def test_nothing_is_recorded_by_an_empty_append(self, trail: Trail) -> None:
        assert trail.append([]) == []
        assert trail.checkpoint().length == 0

    @pytest.mark.parametrize(
        "hostile",
        [
            e.CutMade.model_construct(plane="front", angle_deg=math.nan, grams=1.0),
            e.CutMade.model_construct(plane="front", angle_deg=0.0, grams=math.inf),
            e.NoteWritten.model_construct(text="half a letter \ud800"),
            e.NoteWritten.model_construct(text=""),
            e.SpinRun.model_construct(number=2**70, planes=(), unit="g"),
        ],
        ids=["nan", "inf", "surrogate", "empty", "huge"],
    )
    def test_what_could_not_be_read_again_is_refused_whole(self, trail: Trail, hostile: e.Payload) -> None:
        trail.append([opening()])
        bad = weight().model_copy(update={"payload": hostile})
        with pytest.raises(EventRefusedError) as caught:
            trail.append([weight(), bad, weight(place=2)])
        assert caught.value.found
        assert "http" not in str(caught.value)
        assert trail.checkpoint().length == 1
        assert [event.seq for event in trail.append([weight(place=2)])] == [2]
        assert trail.verify() is None

    def test_a_job_opens_under_its_own_number_only(self, trail: Trail) -> None:
        with pytest.raises(EventRefusedError, match="filed under"):
            trail.append([opening().model_copy(update={"job": "2031-0002"})])

    def test_events_of_one_job_and_after_a_place(self, trail: Trail) -> None:
        trail.append([opening("A"), opening("B"), weight(job="A"), weight(job="B"), weight(place=2, job="A")])
        assert [event.seq for event in trail.events(job="A")] == [1, 3, 5]
        assert [event.seq for event in trail.events(job="A", after=1)] == [3, 5]
        assert [event.seq for event in trail.events(after=3)] == [4, 5]
        assert list(trail.events(job="C")) == []

    def test_more_events_than_one_batch(self, trail: Trail) -> None:
        trail.append([opening(), *(weight(place=1 + n % 2) for n in range(1203))])
        assert [event.seq for event in trail.events()] == list(range(1, 1205))
        assert sum(1 for _ in trail.events(job="2031-0001", after=4)) == 1200
        assert trail.verify() is None

    def test_jobs_by_newest_activity_even_when_the_clock_went_back(self, trail: Trail, clock: SetClock) -> None:
        trail.append([opening("A", simulated=True)])
        trail.append([opening("B")])
        clock.step(-86_400.0)
        trail.append([weight(job="A")])
        lines = trail.jobs()
        assert [line.number for line in lines] == ["A", "B"]
        assert (lines[0].opened_utc[:10], lines[0].last_utc[:10]) == ("2031-05-07", "2031-05-06")
        assert (lines[0].simulated, lines[1].simulated) == (True, False)
        assert (lines[1].title, lines[1].customer, lines[1].engine) == (
            "two-cylinder pump engine", "Skerry Sound yard", "pump engine, 0.9 litre",
        )  # fmt: skip

    def test_the_step_of_a_job(self, trail: Trail) -> None:
        def step() -> str:
            return trail.jobs()[0].step

        trail.append([opening()])
        assert step() == "weigh"
        cells = [("piston", 1), ("piston", 2), ("rod_whole", 1), ("rod_whole", 2), ("rod_bearings", 1)]
        trail.append([weight(kind=kind, place=place) for kind, place in cells])
        assert step() == "bobweights"
        built = one_of_each()[5]
        trail.append([built])
        assert step() == "spin"
        trail.append([run(1, 4.0, 0.5)])
        assert step() == "spin"
        trail.append([run(2, 0.9, 1.0)])
        assert step() == "sign-off"
        trail.append([draft(e.CutMade(plane="front", angle_deg=0.0, grams=1.0))])
        assert step() == "spin"  # a cut after the last run: nobody knows where the rotor stands
        trail.append([run(3, 0.2, 0.3)])
        trail.append([draft(e.JobSignedOff(deburred=True, cleaned=True, within_tolerance=True, words=""))])
        assert step() == "done"
        trail.append([draft(e.JobReopened(reason="came back"))])
        assert step() == "sign-off"
        trail.append([draft(e.WeightWithdrawn(withdraws=built.id, reason="fell off"))])
        assert step() == "bobweights"

    def test_events_of_a_job_that_was_never_opened_have_no_line(self, trail: Trail) -> None:
        trail.append([weight(job="X")])
        assert trail.jobs() == []
        assert [event.job for event in trail.events(job="X")] == ["X"]

    @pytest.mark.parametrize(
        ("words", "found"),
        [
            ("heron", ["2031-0007"]),
            ("HER", ["2031-0007"]),
            ("2031-0007", ["2031-0007"]),
            ("2031-00", ["2031-0012", "2031-0007"]),
            ("0031", []),
            ("gröss", ["2031-0012"]),
            ("GROSS", ["2031-0012"]),
            ("skerry keyway", ["2031-0007"]),
            ("keyway 2031-05-07", ["2031-0007"]),
            ("piston", ["2031-0012", "2031-0007"]),
            ("SK-0417", ["2031-0012", "2031-0007"]),
            ("heron grosse", []),
            ("", []),
            (' - " * ( ', []),
            ('"keyway" OR heron', []),
            ("heron NOT keyway", []),
            ("title:heron", []),
        ],
    )
    def test_finding_jobs(self, trail: Trail, words: str, found: list[str]) -> None:
        trail.append([opening("2031-0007", title="Heron, bilge pump"), opening("2031-0012", title="Große Winde")])
        trail.append([draft(e.NoteWritten(text="keyway worn"), job="2031-0007")])
        trail.append([draft(e.NoteWritten(text="grösser gebohrt"), job="2031-0012")])
        assert [line.number for line in trail.find(words)] == found
        assert trail.find(words, most=1) == trail.find(words)[:1]

    def test_a_clock_that_steps_is_told_once(self, trail: Trail, clock: SetClock) -> None:
        trail.append([opening()])
        clock.run(3600.0)
        trail.append([weight()])
        clock.step(1.9)
        trail.append([weight(place=2)])
        assert [event.payload.kind for event in trail.events()] == ["job-opened", "weight-taken", "weight-taken"]
        clock.step(-7200.0)
        clock.run(1.0)
        recorded = trail.append([weight(place=1)])
        assert [event.payload.kind for event in recorded] == ["weight-taken"]
        told = [event.payload for event in trail.events() if isinstance(event.payload, e.ClockStepped)]
        assert [payload.by_seconds for payload in told] == [-7200.0]
        trail.append([weight(place=1)])
        assert trail.checkpoint().length == 6

    def test_the_bytes_under_the_hash_hold_everything_but_the_hash(self, trail: Trail) -> None:
        # canonical form written by hand after RFC 8785: keys in order, no spaces, shortest numbers
        clock_text = '"monotonic_ns":"1000000000","offset_min":60'
        given = e.Draft(
            id="01900000-0000-7000-8000-00000000abcd", job="", by="AB", payload=e.ClockStepped(by_seconds=-3600.0)
        )
        (event,) = trail.append([given])
        text = (
            '{"app_version":"0.1.0","bench":"south","by":"AB","how":"auto","id":"01900000-0000-7000-8000-00000000abcd",'
            f'"job":"",{clock_text},"payload":{{"by_seconds":-3600,"kind":"clock-stepped","version":1}},'
            f'"previous_hash":"{"0" * 64}","raw":[],"seq":1,"utc":"2031-05-07T08:00:00.000000Z"}}'
        )
        assert event.hash == digest(text.encode())

    def test_the_fold_of_what_was_recorded(self, trail: Trail) -> None:
        trail.append([opening(), weight("412.30"), run(1, 4.0, 2.0)])
        state = fold(trail.events(job="2031-0001"))
        assert str(next(iter(state.weighed.values())).grams) == "412.30"
        assert state.last_seq == 3


def _kinds() -> tuple[type[e.Payload], ...]:
    return get_args(get_args(e.AnyPayload)[0])
