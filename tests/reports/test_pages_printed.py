"""Pages as PDF and in a real browser: one page on either paper, and not one request."""

from __future__ import annotations

import importlib
import json
import re
import shutil
import subprocess
import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from bench.reports.certificate import certificate_html
from bench.reports.paper_form import paper_form
from bench.reports.part_labels import part_labels
from bench.reports.pdf import OutsideRequestError, PdfMissingError, certificate_pdf
from bench.trail.signing import Signature
from bench.use_cases.demo_job import demo_spec

FLAGS = (
    *("--headless", "--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking"),
    *("--disable-component-update", "--disable-sync", "--no-pdf-header-footer"),
    "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE 127.0.0.1",  # the browser's own calls home find nobody
)


def certificate(sample: Any) -> str:
    return certificate_html(
        state=sample.state,
        review=sample.review,
        checkpoint=sample.checkpoint,
        written_utc="2026-03-20T10:00:00Z",
        app_version="0.1.0",
        replaces="2026-0001_old.html of 2026-03-01",
        signature=Signature("ab" * 32, "cd" * 64),
    )


def page_count(pdf: bytes) -> int:
    return len(re.findall(rb"/Type\s*/Page\b", pdf))


def test_a_missing_library_is_said_with_the_way_round_it(sample: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "weasyprint", None)
    with pytest.raises(PdfMissingError, match="print it to PDF from any browser"):
        certificate_pdf(certificate(sample), paper="A4")


def test_a_missing_system_library_is_said_too(sample: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(_: str) -> None:
        raise OSError("cannot load library 'libpango'\nlong explanation")

    monkeypatch.setattr(importlib, "import_module", broken)
    with pytest.raises(PdfMissingError, match="PDF: cannot load library 'libpango'; the HTML certificate is complete"):
        certificate_pdf(certificate(sample), paper="A4")


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize("runs", [5, 14])
def test_eight_cylinders_are_one_page_of_pdf(make: Any, paper: Any, runs: int) -> None:
    pytest.importorskip("weasyprint", reason="the extra for PDF is not installed")
    page = certificate(make(spins=runs, cuts=20))
    pdf = certificate_pdf(page, paper=paper)
    assert page_count(_unpacked(pdf)) == 1
    assert pdf == certificate_pdf(page, paper=paper)


def _unpacked(pdf: bytes) -> bytes:
    """The file with its packed object streams laid open, so that pages can be counted."""
    import zlib

    opened = [pdf]
    for match in re.finditer(rb"stream\r?\n(.*?)\r?\nendstream", pdf, re.DOTALL):
        try:
            opened.append(zlib.decompress(match[1]))
        except zlib.error:
            continue
    return b"\n".join(opened)


def test_pdf_fetches_nothing() -> None:
    pytest.importorskip("weasyprint", reason="the extra for PDF is not installed")
    with pytest.raises(OutsideRequestError, match="needs nothing from outside"):
        certificate_pdf("<link rel=stylesheet href='http://a.invalid/x.css'><p>x</p>", paper="A4")


def browser() -> str:
    found = shutil.which("chromium") or shutil.which("chromium-browser")
    if found is None:
        pytest.skip("no chromium on this machine: the pages were not printed by a browser")
    return found


def printed(page: str, folder: Path) -> tuple[bytes, list[str]]:
    """Return the PDF a browser makes and every address the page, not the browser itself, asked for."""
    source, pdf, log = folder / "page.html", folder / "page.pdf", folder / "net.json"
    source.write_text(page, encoding="utf-8")
    own = (f"--user-data-dir={folder / 'profile'}", f"--print-to-pdf={pdf}", f"--log-net-log={log}")
    subprocess.run([browser(), *FLAGS, *own, source.as_uri()], check=True, capture_output=True, timeout=100)
    events = json.loads(log.read_text(encoding="utf-8"))["events"]
    given = [event["params"] for event in events if "initiator" in event.get("params", {})]
    return pdf.read_bytes(), [str(p.get("url")) for p in given if p["initiator"] != "not an origin"]


def sized(page: str, paper: str) -> str:
    assert "@page { margin: 9mm; }" in page
    return page.replace("@page { margin: 9mm; }", f"@page {{ size: {paper}; margin: 9mm; }}")


@pytest.mark.long
@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize("runs", [5, 14])
def test_a_browser_prints_one_page(make: Any, tmp_path: Path, paper: str, runs: int) -> None:
    pdf, _ = printed(sized(certificate(make(spins=runs, cuts=20)), paper), tmp_path)
    assert page_count(pdf) == 1


@pytest.mark.long
@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_form_is_one_page_and_labels_three(tmp_path: Path, paper: str) -> None:
    form, labels = tmp_path / "form", tmp_path / "labels"
    form.mkdir()
    labels.mkdir()
    page = paper_form(number="2026-0001", spec=demo_spec(), app_version="0.1.0")
    assert page_count(printed(sized(page, paper), form)[0]) == 1
    assert page_count(printed(sized(part_labels(number="2026-0001", spec=demo_spec()), paper), labels)[0]) == 3


@pytest.mark.long
def test_a_browser_asks_for_nothing_and_runs_nothing(make: Any, tmp_path: Path) -> None:
    text = (
        "<img src=http://a.invalid/1 onerror=fetch('http://b.invalid/2')><script src=http://c.invalid/3></script>"
        "<style>@import 'http://d.invalid/4';</style>"
    )
    _, asked = printed(certificate(make(text=text)), tmp_path)
    assert asked == []


@pytest.mark.long
def test_the_net_log_would_show_a_request(tmp_path: Path) -> None:
    page = "<img src='http://127.0.0.1:9/seen.png'><script>fetch('http://127.0.0.1:9/ran')</script>"
    assert printed(page, tmp_path)[1] == ["http://127.0.0.1:9/seen.png", "http://127.0.0.1:9/ran"]


@pytest.mark.long
def test_the_policy_of_the_page_alone_stops_requests_and_scripts(sample: Any, tmp_path: Path) -> None:
    planted = "<img src='http://127.0.0.1:9/seen.png'><script>fetch('http://127.0.0.1:9/ran')</script></main>"
    page = certificate(sample)
    assert "</main>" in page
    assert printed(page.replace("</main>", planted), tmp_path)[1] == []


def test_an_amended_certificate_with_doubts_is_one_page_too(sample: Any) -> None:
    pytest.importorskip("weasyprint", reason="the extra for PDF is not installed")
    doubts = tuple(
        f"whole rod {n}: 2.6 g above the lightest of the set, allowed 1 g: take 1.6 g off or use another"
        for n in (1, 3, 5)
    )
    page = certificate_html(
        state=sample.state,
        review=replace(sample.review, warnings=doubts),
        checkpoint=sample.checkpoint,
        written_utc="2026-03-20T10:00:00Z",
        app_version="0.1.0",
        replaces="certificate-2026-0001-1.html of 2026-03-01",
        changes=tuple(f"piston {n}: now '603.7', was '605.3'" for n in range(1, 9)),
    )
    assert "and 4 more." in page
    assert page_count(_unpacked(certificate_pdf(page, paper="Letter"))) == 1
