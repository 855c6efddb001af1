"""Made the golden record of version 1, once. Kept to show how; the record itself is never made again."""

from __future__ import annotations

import sys
from pathlib import Path

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE.parents[1] / "trail"))

from trail_pieces import SetClock, draft, ids, one_of_each, opening, record, run, weight  # noqa: E402

from bench.trail.attachments import about_file, attach  # noqa: E402
from bench.trail.events import CertificateIssued  # noqa: E402
from bench.trail.job_file import about_job, bring_in, job_of_record  # noqa: E402
from bench.trail.text_copy import extend_text_copy  # noqa: E402


def main() -> None:
    """Write record and text copy; refuses when they are there."""
    folder = HERE / "version-1"
    path = folder / "record.db"
    if path.exists():
        raise SystemExit("the golden record of version 1 is there already and is never made again")
    ids.prefix, ids.next = "01900000-0000-7000-9000", 0
    clock = SetClock()
    trail = record(path, clock)
    other = record(folder / "other.db", clock, bench="north")
    other.append([opening("2030-0009"), weight("399.95", job="2030-0009")])
    guest = job_of_record(other, "2030-0009")
    other.close()
    for one in one_of_each():
        clock.run(7.5)
        if one.payload.kind == "certificate-issued":
            point = trail.checkpoint()
            issued = CertificateIssued(file_name="c.html", sha256="b" * 64, length=point.length, head=point.head)
            trail.append([draft(issued)])
        elif one.payload.kind == "job-brought-in":
            bring_in(trail, guest, draft(about_job(guest), job=""))
        elif one.payload.kind != "file-attached":
            trail.append([one])
    content = bytes(range(256)) * 3
    attach(trail, content, draft(about_file("photo.jpg", content)))
    clock.step(-3600.0)
    first = weight("1137.40", job="2031-0002")
    trail.append([opening("2031-0002", title="Große Winde", notes="Ölbohrung eng"), first])
    trail.append([weight("1137.35", job="2031-0002", supersedes=first.id), run(1, 4.25, 0.5, job="2031-0002")])
    extend_text_copy(trail, folder / "record.jsonl")
    trail.close()
    for name in ("record.db.writer", "other.db", "other.db.writer"):
        (folder / name).unlink()


if __name__ == "__main__":
    main()
