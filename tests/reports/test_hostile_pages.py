"""Whatever a person or an instrument wrote stays text in every page."""

from __future__ import annotations

import importlib.util
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest

from bench.models.job import EngineLayout, PartKind, PartRole, Throw
from bench.reports.certificate import certificate_html
from bench.reports.paper_form import paper_form
from bench.reports.part_labels import part_labels
from bench.use_cases.demo_job import demo_spec

_FOUND = importlib.util.spec_from_file_location("hostile_texts", Path(__file__).with_name("hostile_texts.py"))
assert _FOUND is not None
assert _FOUND.loader is not None
hostile = importlib.util.module_from_spec(_FOUND)
_FOUND.loader.exec_module(hostile)


SINGLE = EngineLayout(name="single", throws=(Throw(number=1, pin_deg=0.0, cylinders=(1,)),))


class Elements(HTMLParser):
    """Counts elements and attribute names, and keeps what could fetch or run."""

    def __init__(self) -> None:
        super().__init__()
        self.seen: list[tuple[str, tuple[str, ...]]] = []
        self.bad: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.seen.append((tag, tuple(name for name, _ in attrs)))
        fetching = {"src", "href", "xlink:href", "data", "action", "style", "srcset", "poster", "background"}
        self.bad.extend(f"{tag} {name}" for name, _ in attrs if name.startswith("on") or name in fetching)
        if tag in {
            "script",
            "iframe",
            "object",
            "embed",
            "link",
            "base",
            "form",
            "img",
            "a",
            "image",
            "use",
            "foreignobject",
        }:
            self.bad.append(tag)


def elements(page: str) -> Elements:
    page.encode("utf-8")  # a half character would end the writing here
    reader = Elements()
    reader.feed(page)
    reader.close()
    return reader


def certificate(sample: Any, **changes: Any) -> str:
    given = {
        "state": sample.state,
        "review": sample.review,
        "checkpoint": sample.checkpoint,
        "written_utc": "2026-03-20T10:00:00Z",
        "app_version": "0.1.0",
        "replaces": "old.html",
    }
    return certificate_html(**(given | changes))


def test_the_corpus_is_large_enough() -> None:
    assert len(set(hostile.MARKUP)) >= 250


def test_the_judge_sees_what_it_looks_for() -> None:
    assert elements("<p onclick=x><script>1</script><img src=y>").bad == ["p onclick", "script", "img src", "img"]


def test_no_text_becomes_an_element_in_a_certificate(make: Any) -> None:
    single = demo_spec().model_copy(update={"layout": SINGLE})
    harmless = elements(certificate(make(single, text="x" * 40, spins=2, cuts=2)))
    assert harmless.bad == []
    for text in hostile.MARKUP:
        found = elements(certificate(make(single, text=text, spins=2, cuts=2), replaces=text, app_version=text))
        assert found.bad == [], text
        assert found.seen == harmless.seen, text


def test_no_text_becomes_an_element_in_form_and_labels() -> None:
    def pages(text: str) -> tuple[str, str]:
        kind = PartKind(name="piston", label="p", role=PartRole.RECIPROCATING).model_copy(
            update={"label": text, "hint": text}
        )
        spec = demo_spec().model_copy(
            update={"title": text, "engine": text, "serial": text, "kinds": (kind,), "layout": SINGLE}
        )
        return paper_form(number=text, spec=spec, app_version=text), part_labels(number=text, spec=spec)

    harmless = [elements(page).seen for page in pages("x")]
    for text in hostile.MARKUP:
        found = [elements(page) for page in pages(text[:40])]
        assert [f.bad for f in found] == [[], []], text
        assert [f.seen for f in found] == harmless, text


@pytest.mark.parametrize(
    "character", ["\x00", "\x1b", "\x07", "\x85", "\u202e", "\u2066", "\ud800", "\ufffe", "\u2028"]
)
def test_what_cannot_be_seen_is_shown(make: Any, character: str) -> None:
    page = certificate(make(text=f"a{character}b"))
    assert character not in page
    assert "a�b" in page
