"""The table of faults names tests that exist, a row for each fault that is in scope."""

from __future__ import annotations

import re
from pathlib import Path

HERE = Path(__file__).parent
ROW = re.compile(r"^\| ([FB]-\d\d) \| ([^|]+) \| ([^|]+) \| ([^|]+) \|$")
NAMED = re.compile(r"`([\w./]+\.py)::(\w+)`")
NOT_HERE = {"B-52"}
"""How a release is made, which no test of the program sees."""
FAULTS = {f"F-{n:02d}" for n in (*range(1, 29), 30, 31, *range(40, 44), *range(45, 49), *range(50, 58), 60)}
INPUTS = {
    f"B-{n:02d}" for n in (*range(1, 7), *range(10, 16), *range(20, 23), 25, 26, *range(30, 37), *range(40, 45), 50, 51)
}


def rows() -> dict[str, tuple[str, str]]:
    lines = (HERE / "README.md").read_text(encoding="utf-8").splitlines()
    found = [match for line in lines if (match := ROW.match(line))]
    assert len({match[1] for match in found}) == len(found)
    return {match[1]: (match[3], match[4]) for match in found}


def test_every_row_is_there() -> None:
    assert set(rows()) | NOT_HERE == FAULTS | INPUTS | NOT_HERE


def test_every_test_it_names_exists() -> None:
    named = 0
    for id_, (tests, figure) in rows().items():
        found = NAMED.findall(tests)
        assert found or tests == "none", id_
        assert figure, id_
        for file, name in found:
            text = (HERE / file).read_text(encoding="utf-8")
            assert re.search(rf"^ *(async )?def {name}\(", text, re.MULTILINE), f"{id_}: {file}::{name}"
            named += 1
        for part in tests.split("`, "):
            long = re.search(r"`?([\w./]+\.py)::(\w+)` \*long\*", part)
            if long:
                text = (HERE / long[1]).read_text(encoding="utf-8")
                before = text[: text.index(f"def {long[2]}(")]
                assert "mark.long" in before[-600:], f"{id_}: {long[2]} is not marked long"
    assert named > 100
