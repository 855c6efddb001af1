"""The commands that look, over all benches of the shared record; and numbers over benches and months."""

from __future__ import annotations

import json
import sys
from contextlib import closing
from datetime import UTC, datetime
from decimal import Decimal
from pathlib import Path

import pytest
from trail_pieces import SetClock, draft, opening, record, run, weight

sys.path.insert(0, str(Path(__file__).parents[1] / "command_line"))

from calling import call

from bench.sharing.month_numbers import MonthNumbers, record_numbers, together
from bench.trail import events as e
from bench.trail.postgres_opening import connect_shared
from bench.trail.postgres_store import open_shared


def fill(trail, clock: SetClock, number: str, *, runs: int, last_piston: str = "412.9") -> None:
    """A job with one set out of its limit when the last piston is heavy; twelve minutes at work."""
    trail.append([opening(number)])
    clock.run(240.0)
    trail.append([weight("412.3", job=number), weight(last_piston, job=number, place=2)])
    clock.run(3600.0)  # dinner: no work on the job
    trail.append(
        [
            draft(
                e.ScaleChecked(nominal_g=Decimal(500), shown_g=Decimal("500.1"), allowed_g=0.2, passed=True), job=number
            )
        ]
    )
    for n in range(runs):
        clock.run(240.0)
        trail.append([run(n + 1, 4.0, 2.0, job=number)])
    trail.append([draft(e.JobSignedOff(deburred=True, cleaned=True, within_tolerance=runs > 1, words=""), job=number)])


@pytest.fixture
def shop(address: str) -> str:
    """Two benches, three jobs in two months and a simulated one."""
    for bench in ("north", "south"):
        clock = SetClock()
        with closing(open_shared(address, bench=bench, clock=clock, app_version="0.1.0")) as trail:
            fill(trail, clock, "2031-0001", runs=2)
            if bench == "south":
                clock.wall = datetime(2031, 6, 2, 8, tzinfo=UTC)
                fill(trail, clock, "2031-0002", runs=1, last_piston="414.0")
                trail.append([opening("2031-0003", simulated=True, title="practice")])
    return address


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("SPINLEDGER_HOME", str(tmp_path))
    return tmp_path


def test_finding_over_all_benches(shop: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert call("job", "find", "pump", "--record", shop, "--json") == 0
    found = [(row["bench"], row["number"]) for row in json.loads(capsys.readouterr().out)]
    # the newest first; of one moment, by bench and number
    assert found == [("south", "2031-0002"), ("south", "2031-0003"), ("north", "2031-0001"), ("south", "2031-0001")]
    assert call("job", "find", "nothing", "--record", shop) == 1
    assert call("job", "list", "--record", shop) == 0
    assert "practice" in capsys.readouterr().out


def test_a_number_that_two_benches_have_is_asked_for(shop: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert call("trail", "2031-0001", "--record", shop) == 4
    assert "--bench NAME" in capsys.readouterr().err
    assert call("trail", "2031-0001", "--record", shop, "--bench", "north") == 0
    assert len(capsys.readouterr().out.splitlines()) >= 7
    assert call("trail", "2031-0002", "--record", shop) == 0
    assert call("job", "show", "2031-0002", "--record", shop) == 0
    assert "take" in capsys.readouterr().out
    assert call("trail", "2031-0099", "--record", shop) == 4


def test_a_certificate_of_another_bench_is_told_to_be_a_copy(
    shop: str, home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert call("certificate", "2031-0002", "--record", shop) == 0
    out = capsys.readouterr()
    page = Path(out.out.strip())
    assert page.parent == home / "certificates"
    assert "does not tell of it" in out.err
    assert "two-cylinder pump engine" in page.read_text(encoding="utf-8")
    # and the page is a witness of that chain
    assert call("verify", "--record", shop, "--against", str(page)) == 0
    assert "agrees with" in capsys.readouterr().out


def test_verify_walks_every_chain(shop: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert call("verify", "--record", shop) == 0
    assert capsys.readouterr().out.count("whole:") == 2
    with closing(connect_shared(shop)) as connection:
        connection.execute("SET session_replication_role = replica")
        connection.execute("UPDATE spinledger.trail SET kind = 'note-written' WHERE bench = 'south' AND seq = 4")
    assert call("verify", "--record", shop, "--json") == 5
    told = {row["bench"]: row["fault"] for row in json.loads(capsys.readouterr().out)["benches"]}
    assert told["north"] == ""
    assert told["south"].startswith("event 4:")


def test_numbers_by_bench_and_month(shop: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert call("numbers", "--record", shop, "--json") == 0
    rows = json.loads(capsys.readouterr().out)
    # by hand: 4 min to the weights, the hour's pause left out, 4 min a run
    assert [(r["bench"], r["month"], r["jobs"], r["runs"], r["minutes_a_job"]) for r in rows] == [
        ("north", "2031-05", 1, 2, 12.0),
        ("south", "2031-05", 1, 2, 12.0),
        ("south", "2031-06", 1, 1, 8.0),
    ]
    # pistons 412.3 and 414.0 are 1.7 g apart, allowed 1.0 g; 412.9 is 0.6 g apart
    assert [(r["sets"], r["sets_out"], r["checks"], r["checks_failed"], r["within"]) for r in rows] == [
        (1, 0, 1, 0, 1), (1, 0, 1, 0, 1), (1, 1, 1, 0, 0),
    ]  # fmt: skip
    assert call("numbers", "--record", shop, "--by", "month", "--since", "2031-06", "--bars", "runs_a_job") == 0
    out = capsys.readouterr().out
    assert "2031-05" not in out
    assert "#" * 24 in out
    assert call("numbers", "--record", shop, "--until", "2030") == 1
    assert call("numbers", "--record", shop, "--since", "May") == 4


def test_numbers_as_a_page_with_pictures(shop: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert call("numbers", "--record", shop, "--page", str(tmp_path / "out")) == 0
    page = Path(capsys.readouterr().out.splitlines()[0]).read_text(encoding="utf-8")
    assert page.count("<svg") == 5
    assert "2031-06 south" in page
    assert "<script" not in page
    assert "default-src 'none'" in page


def test_numbers_of_one_record_are_the_same_as_in_the_shared_one(shop: str, tmp_path: Path) -> None:
    clock = SetClock()
    with closing(record(tmp_path / "record.db", clock, bench="north")) as trail:
        fill(trail, clock, "2031-0001", runs=2)
        own = record_numbers(trail)
    from bench.sharing.office import looking

    with looking(shop) as office:
        there = [one for one in office.numbers() if one.bench == "north"]
    assert own == there


def test_adding_up() -> None:
    parts = [
        MonthNumbers("a", "2031-05", jobs=2, runs=6, seconds=600.0),
        MonthNumbers("b", "2031-05", jobs=1, runs=1, seconds=60.0),
        MonthNumbers("a", "2031-06", jobs=1, runs=2),
    ]
    assert [(one.bench, one.jobs, one.runs) for one in together(parts, by=("bench",))] == [("a", 3, 8), ("b", 1, 1)]
    (whole,) = together(parts, by=())
    assert (whole.jobs, whole.runs_a_job, whole.minutes_a_job) == (4, 2.25, 2.75)
    assert MonthNumbers("a", "2031-05").runs_a_job is None


def test_share_command(
    address: str, home: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    assert call("share") == 4
    assert call("share", "--to", "http://shop") == 4
    assert call("share", "--to", address) == 4  # no record yet
    assert call("share", "--prepare", "--to", address) == 0
    with closing(record(home / "record.db")) as trail:
        trail.append([opening(), weight()])
    with closing(open_shared(address, bench="north", clock=SetClock(), app_version="0.1.0")) as north:
        north.append([opening("2031-0005", title="winch")])
    monkeypatch.setenv("SPINLEDGER_SHARE", address)
    assert call("share", "--status") == 1
    assert call("share", "--once", "--json") == 0
    assert '"shipped": 2' in capsys.readouterr().out
    assert call("share", "--status") == 0
    assert capsys.readouterr().out == "south: 2 of 2 events shipped\n"
    assert call("job", "list", "--others") == 0
    assert "winch" in capsys.readouterr().out
    assert call("trail", "2031-0005", "--bench", "north") == 0
    assert call("share", "--once", "--to", "postgresql://127.0.0.1:1/x") == 3
