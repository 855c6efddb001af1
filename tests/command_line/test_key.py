"""The bench's key: made, shown in the record, certificates signed; lost, another one, a wrong one."""

from __future__ import annotations

import json
import os
import stat
from pathlib import Path

import pytest
from calling import call

from bench.command_line.exit_codes import ExitCode
from bench.command_line.places import Places
from bench.command_line.record_wiring import open_trail, read_trail, scribe_for
from bench.command_line.settings import Settings
from bench.trail import ed25519
from bench.trail.contract import Checkpoint
from bench.trail.full_check import check_all
from bench.trail.keeping_events import RecordSigned
from bench.trail.signing import NO_FIT, UNKNOWN_KEY, Signature, make_key, signed_text, why_not_signed
from bench.use_cases.demo_job import demo_spec


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("SPINLEDGER_HOME", str(tmp_path / "home"))
    monkeypatch.setenv("SPINLEDGER_BY", "mk")
    spec = demo_spec().model_copy(update={"simulated": False})
    (tmp_path / "job.json").write_text(spec.model_dump_json(), encoding="utf-8")
    assert call("job", "new", "--from", str(tmp_path / "job.json")) == 0
    return tmp_path / "home"


@pytest.fixture
def job(home: Path, capsys: pytest.CaptureFixture[str]) -> str:
    capsys.readouterr()
    assert call("job", "list", "--json") == 0
    return str(json.loads(capsys.readouterr().out)[0]["number"])


def certificate(job: str, capsys: pytest.CaptureFixture[str]) -> Path:
    capsys.readouterr()
    assert call("certificate", job) == 0
    return Path(capsys.readouterr().out.strip())


def signatures(home: Path) -> tuple[str, list[RecordSigned]]:
    trail = read_trail(Places(home), Settings())
    assert trail is not None
    try:
        found = [event.payload for event in trail.events() if isinstance(event.payload, RecordSigned)]
        return trail.bench, found
    finally:
        trail.close()


def test_without_a_key_nothing_is_signed_and_nothing_claims_it(
    home: Path, job: str, capsys: pytest.CaptureFixture[str]
) -> None:
    page = certificate(job, capsys)
    assert "igned with the key" not in page.read_text(encoding="utf-8")
    assert signatures(home)[1] == []
    assert call("verify", "--full", "--against", str(page)) == 0
    assert call("key", "list") == ExitCode.NEGATIVE
    assert "no key is here" in capsys.readouterr().err


def test_a_certificate_is_signed_over_the_lines_the_guide_gives(
    home: Path, job: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert call("key", "new") == 0
    if os.name == "posix":
        assert stat.S_IMODE(Places(home).key.stat().st_mode) == 0o600
    page = certificate(job, capsys)
    bench, (signed,) = signatures(home)
    words = page.read_text(encoding="utf-8")
    assert f'content="{signed.public}:{signed.signature}"' in words
    assert "Signed with the key" in words
    text = f"spinledger record\n{signed.length}\n{signed.head}\n{bench}\n".encode()
    assert ed25519.fits(bytes.fromhex(signed.public), text, bytes.fromhex(signed.signature))
    assert call("verify", "--full", "--against", str(page)) == 0
    assert call("key", "list") == 0
    assert f"{signed.public}  shown in entry 2, here" in capsys.readouterr().out


def test_old_signatures_hold_when_the_key_is_lost_and_another_takes_its_place(
    home: Path, job: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert call("key", "new") == 0
    first = certificate(job, capsys)
    Places(home).key.unlink()
    unsigned = certificate(job, capsys)
    assert "igned with the key" not in unsigned.read_text(encoding="utf-8")
    assert call("key", "new") == ExitCode.INPUT_REFUSED, "another key needs a reason"
    assert call("key", "new", "--reason", "the drive was lost") == 0
    third = certificate(job, capsys)
    for page in (first, unsigned, third):
        assert call("verify", "--full", "--against", str(page)) == 0
    _, (old, new) = signatures(home)
    assert old.public != new.public
    capsys.readouterr()
    assert call("key", "list", "--json") == 0
    keys = json.loads(capsys.readouterr().out)["keys"]
    assert [(key["public"], key["here"]) for key in keys] == [(old.public, False), (new.public, True)]


def test_a_key_that_the_record_does_not_know_signs_nothing(
    home: Path, job: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert call("key", "new") == 0
    make_key(Places(home).key)  # of another bench, or brought by somebody
    assert call("certificate", job) == 0
    told = capsys.readouterr().err
    assert "not signed" in told
    assert "does not know" in told
    assert signatures(home)[1] == []
    assert call("key", "list") == ExitCode.NEGATIVE
    for wrong in ("", "{}", '{"private": "00", "public": "00"}', "[]"):
        Places(home).key.write_text(wrong, encoding="utf-8")
        assert call("certificate", job) == 0
        assert "no key that can be read" in capsys.readouterr().err
    mixed = {"private": "11" * 32, "public": "22" * 32}
    Places(home).key.write_text(json.dumps(mixed), encoding="utf-8")
    assert call("certificate", job) == 0
    assert "do not belong together" in capsys.readouterr().err


def test_a_page_signed_by_somebody_else_is_not_valid(home: Path, job: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert call("key", "new") == 0
    page = certificate(job, capsys)
    bench, (signed,) = signatures(home)
    seed = ed25519.new_seed()
    point = Checkpoint(bench, signed.length, signed.head)
    known = {signed.public: 2}
    theirs = Signature(ed25519.public_key(seed).hex(), ed25519.sign(seed, signed_text(point)).hex())
    assert why_not_signed(theirs, point, known) == UNKNOWN_KEY
    assert why_not_signed(Signature(signed.public, theirs.signature), point, known) == NO_FIT
    assert why_not_signed(Signature(signed.public, "no hex"), point, known) == NO_FIT
    words = page.read_text(encoding="utf-8")
    words = words.replace(f"{signed.public}:{signed.signature}", f"{theirs.public}:{theirs.signature}")
    page.write_text(words, encoding="utf-8")
    assert call("verify", "--against", str(page)) == ExitCode.NOT_WHOLE
    assert "signed by no key that this record knows" in capsys.readouterr().out


def test_a_signature_in_the_record_that_does_not_fit_is_found(home: Path, job: str) -> None:
    assert call("key", "new") == 0
    key = json.loads(Places(home).key.read_text(encoding="utf-8"))
    trail = open_trail(Places(home), Settings())
    scribe = scribe_for(trail, Settings(by="mk"))
    scribe.choose(job)
    point = trail.checkpoint()
    right = ed25519.sign(bytes.fromhex(key["private"]), signed_text(point)).hex()
    other_head = Checkpoint(point.bench, point.length, "0" * 64)
    elsewhere = ed25519.sign(bytes.fromhex(key["private"]), signed_text(other_head)).hex()
    scribe.record([
        RecordSigned(length=point.length, head=point.head, public=key["public"], signature=right),
        RecordSigned(length=point.length, head=point.head, public=key["public"], signature="0" * 128),
        RecordSigned(length=point.length, head="0" * 64, public=key["public"], signature=elsewhere),
        RecordSigned(length=point.length, head=point.head, public="1" * 64, signature=right),
    ])  # fmt: skip
    wrong = check_all(trail)
    trail.close()
    assert [words.split(": ", 1) for words in wrong] == [
        ["event 4", NO_FIT],
        ["event 5", "it signs entries that are not here"],
        ["event 6", UNKNOWN_KEY],
    ]
