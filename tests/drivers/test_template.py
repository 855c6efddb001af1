"""The template language: what it reads, what it refuses, and that it is never slow."""

from __future__ import annotations

import random
import time
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drivers.number_style import NumberStyle, both_readings
from drivers.template import Template, TemplateError, Vocabulary

WORDS = Vocabulary(
    numbers={"value", "amount", "angle", "other"},
    words={
        "unit": ["g", "kg"],
        "state": ["still", "moves", "OK", "S", "st", "stable"],
        "kind": ["N", "G"],
        "plane": ["FRONT"],
        "sign": ["+", "-"],
    },
    texts={"label"},
    patterns={"check": "[0-9A-F]{2}"},
)


@pytest.mark.parametrize(
    ("template", "line", "fields"),
    [
        ("wt {value 8} g {state}", "wt +00603.8 g still", {"value": "+00603.8", "state": "still"}),
        (
            "{state},{kind},{value} {unit}",
            "OK,N,  12.30 g",
            {"state": "OK", "kind": "N", "value": "  12.30", "unit": "g"},
        ),
        ("{value} {unit?}", "603.8 ", {"value": "603.8", "unit": ""}),
        ("{sign} {value} {unit}", "-   12.3 g", {"sign": "-", "value": "12.3", "unit": "g"}),
        ("({value}) {unit}", "(12.3) g", {"value": "12.3", "unit": "g"}),
        ("{digits};{value};{unit}", "00412;603.8;g", {"value": "603.8", "unit": "g"}),
        (
            "{state 1}{value 9}{unit 2}{check}",
            "S    603.8g 5E",
            {"state": "S", "value": "    603.8", "unit": "g", "check": "5E"},
        ),
        ("G {skip}N {value} {unit}", "G 812.0 g N 603.8 g", {"value": "603.8", "unit": "g"}),
        (
            "{plane} {amount} g @ {angle}",
            "FRONT 12.34 g @ 238.5",
            {"plane": "FRONT", "amount": "12.34", "angle": "238.5"},
        ),
        ("RUN {label}", "RUN 3", {"label": "3"}),
        ("{{{value}}}~~~{unit}", "{1.5}~ g", {"value": "1.5", "unit": "g"}),
        ("{skip 3}{value}", "abc1.5", {"value": "1.5"}),
        ("{number} {value}", "-1.2.3 1.5", {"value": "1.5"}),
        ("{state} {value}", "stable 1.5", {"state": "stable", "value": "1.5"}),
        ("{state? 5}x", None, None),
    ],
)
def test_examples(template: str, line: str | None, fields: dict[str, str] | None) -> None:
    if line is None:
        with pytest.raises(TemplateError):
            Template(template, WORDS)
        return
    found = Template(template, WORDS).match(line)
    if found is not None and fields is not None and "value" in fields:
        found = {**found, "value": found["value"]}
    assert {name: text.strip() for name, text in (found or {}).items()} == {
        name: text.strip() for name, text in (fields or {}).items()
    }


@pytest.mark.parametrize(
    ("template", "words"),
    [
        ("{weight}", "no field is called 'weight'"),
        ("{value} {value}", "twice"),
        ("{value}{other}", "touches"),
        ("{value", "lone"),
        ("value}", "lone"),
        ("{label}{value}", "no end"),
        ("{skip}~x", "no end"),
    ],
)
def test_bad_templates_say_why(template: str, words: str) -> None:
    with pytest.raises(TemplateError, match=words):
        Template(template, WORDS)


@pytest.mark.parametrize(
    "text",
    [
        "nan",
        "inf",
        "1e400",
        "1e-400",
        "1_000",
        "１２",
        "٣",
        "−5",
        ".5",
        "5.",
        "0x1p3",
        "1.2.3",
        "--5",
        "",
        "12\0",
        "1" * 4301,
        "12345678.1",
        "1.23456",
        "1,5",
        "+ ",
        "- -1",
    ],
)
def test_what_is_no_number(text: str) -> None:
    assert NumberStyle().read(text) is None


@pytest.mark.parametrize(
    ("style", "text", "value"),
    [
        (NumberStyle(), "00012", "12"),
        (NumberStyle(), "000000603.80", "603.80"),
        (NumberStyle(), "- 12.3", "-12.3"),
        (NumberStyle(decimal=","), "1234,5", "1234.5"),
        (NumberStyle(thousands="'"), "1'234.5", "1234.5"),
        (NumberStyle(decimal=",", thousands="."), "-1.234.567,8", "-1234567.8"),
        (NumberStyle(implied=1), "0006038", "603.8"),
        (NumberStyle(backwards=True), "8.306-", "-603.8"),
        (NumberStyle(places=2), "1.50", "1.50"),
    ],
)
def test_what_is_a_number(style: NumberStyle, text: str, value: str) -> None:
    assert str(style.read(text)) == value


def test_exact_places_are_asked_for() -> None:
    assert NumberStyle(places=1).read("6038") is None
    assert NumberStyle(places=1).read("603.80") is None
    assert NumberStyle(places=0).read("603.8") is None


def test_thousands_are_never_guessed() -> None:
    rng = random.Random(3)
    wrong = 0
    for _ in range(10_000):
        mark, other = rng.choice([(".", ","), (",", ".")])
        text = f"{rng.randrange(1, 999)}{other}{rng.randrange(1000):03d}"
        wrong += NumberStyle(decimal=mark).read(text) is not None
        assert both_readings(text)
    assert wrong == 0


@given(st.text(alphabet="0123456789+-., eE_'\x00x", max_size=24))
def test_accepted_numbers_are_of_the_grammar(text: str) -> None:
    value = NumberStyle().read(text)
    if value is not None:
        plain = text.replace(" ", "")
        assert set(plain) <= set("0123456789+-.")
        assert len(plain.lstrip("+-0").split(".")[0]) <= 7
        assert Decimal(plain) == value


SLOW = ["1" * 126 + "x", " " * 127, "+" * 128, "1 " * 64, "still " * 21, "a" * 128, "1." * 64, "- " * 64, "1'234" * 25]


def test_no_template_is_slow_on_any_line() -> None:
    """Fifty shapes that blow up where patterns try again: each line takes well under a millisecond."""
    rng = random.Random(5)
    fields = [
        "{value}",
        "{unit}",
        "{state?}",
        "{skip}",
        "{digits}",
        "{number}",
        "~",
        " ",
        "~",
        "x",
        "~{value 9}~",
        "{label} ",
    ]
    made = 0
    worst = 0.0
    while made < 50:
        text = "".join(rng.choice(fields) for _ in range(rng.randrange(2, 12)))
        try:
            template = Template(
                text, Vocabulary(WORDS.numbers, WORDS.words, WORDS.texts, WORDS.patterns, NumberStyle(thousands="'"))
            )
        except TemplateError:
            continue
        made += 1
        for line in SLOW:
            begun = time.perf_counter()
            for _ in range(10):
                template.match(line)
            worst = max(worst, (time.perf_counter() - begun) / 10)
    assert worst < 0.002
