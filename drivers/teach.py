"""Learns the profile of a scale from raw bytes and what the display showed.

The way: cut the bytes into lines, find the one place whose number agrees with the display in every step, lay the
lines over each other to see what stays and what changes, write a template of that, and read everything again with
it. Where two readings remain, nothing is learnt: one more step is asked for.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from pydantic import ValidationError

from drivers.contract import Condition, Reading
from drivers.profile import Numbers
from drivers.scales.scale_profile import Frame, KindWords, ScaleLine, ScaleProfile, StateWords
from drivers.scales.streaming import StreamingScale
from drivers.showing import shown_text
from drivers.teach_forms import Words, template_of
from drivers.teach_frames import Frames, find_frames
from drivers.teach_keys import Key, choose_key, find_keys, locate, sign_token
from drivers.teach_slots import Group, Row, overlay, pieces_of
from drivers.teach_states import Evidence, NeedsMore, Rest, Shown, Taught, TaughtState, Unreadable, parse_shown
from drivers.teach_tokens import tokenise

__all__ = ["NeedsMore", "Taught", "TaughtState", "Unreadable", "teach_scale"]

_FEWEST_LINES = 3
_READABLE = "lines of text that end with CR, LF or another control byte and hold the number the display shows"


def teach_scale(states: Sequence[TaughtState], *, name: str = "taught") -> Taught | NeedsMore | Unreadable:
    """Learn the profile of a scale.

    Parameters
    ----------
    states : Sequence[TaughtState]
        The steps: nothing on the pan; a part; better also the part lifted after a tare, which shows a negative
        number; lines while the pan moves; overload.
    name : str
        Name of the new profile.

    Returns
    -------
    Taught | NeedsMore | Unreadable
        A profile that reads every step, a question, or why these bytes cannot be read.
    """
    evidence = _gather(states)
    if not isinstance(evidence, tuple):
        return evidence
    lines, frames = evidence
    keys = find_keys(lines)
    if not keys:
        return _not_found(lines)
    key = choose_key(keys, lines)
    if key is None:
        if lines.tared:
            found = "the same number in several places of the lines"
            return Unreadable(found, _READABLE, "teach again with another part and another tare")
        return NeedsMore("tare", "put a part on, press tare, lift the part and type the negative number shown")
    return _learn(lines, frames, key, name=name)


def _gather(states: Sequence[TaughtState]) -> tuple[Evidence, Frames] | NeedsMore | Unreadable:
    """Cut the captures into lines and check what the person typed."""
    frames = find_frames([state.raw for state in states])
    if frames is None:
        do = "set the scale to a text output with line ends; this format I cannot read"
        return Unreadable("bytes without an end mark of lines", _READABLE, do)
    evidence = Evidence([])
    for state, lines in zip(states, frames.captures, strict=True):
        if state.role == "moving":
            evidence.moving.extend(lines)
        elif state.role == "overload":
            evidence.overload.extend(lines)
        else:
            shown = parse_shown(state.shown)
            if shown is None:
                do = "type what the display shows, with all decimals"
                return Unreadable(shown_text(state.shown), "a number like 512.3 g", do)
            if len(lines) < _FEWEST_LINES:
                return NeedsMore("lines", f"wait for at least {_FEWEST_LINES + 2} lines in each step")
            evidence.rests.append(Rest(lines, shown))
    return _checked(evidence) or (evidence, frames)


def _checked(evidence: Evidence) -> NeedsMore | Unreadable | None:
    """Look for slips of the person before anything is learnt from them."""
    shown = [rest.shown for rest in evidence.rests]
    values = [one.value for one in shown]
    if len(set(values)) < 2 or not any(values):
        return NeedsMore("part", "put a part of more than 100 g on and type what the display shows, with all decimals")
    places = {one.places for one in shown if one.value}
    if len(places) > 1:
        found = " and ".join(str(one.value) for one in shown if one.value)
        return Unreadable(found, "numbers with the same decimals", "type all decimals the display shows")
    if any(one.places not in places and one.places for one in shown):
        return Unreadable("a zero with other decimals", "the same decimals in each step", "type all decimals")
    part = max((abs(value) for value in values), default=Decimal(0))
    digits = str(part).replace(".", "")
    if len(set(digits)) == 1 or (digits == digits[::-1] and len(digits) > 1):
        return NeedsMore("part", f"use another part: {part} reads the same from both ends")
    return None


def _not_found(evidence: Evidence) -> Unreadable:
    part = max(evidence.rests, key=lambda rest: abs(rest.shown.value))
    line = part.lines[len(part.lines) // 2]
    numbers = [token.text for token in tokenise(line, decimal=".") if token.kind in {"number", "digits"}]
    found = f"{shown_text(line)} for {part.shown.value} on the display"
    if not numbers:
        return Unreadable(found, _READABLE, "set the scale to a text output; this format I cannot read")
    do = "type what the display shows with all decimals, and let it settle; or this format I cannot read"
    return Unreadable(found, f"{part.shown.value} in every line of that step", do)


def _rows(evidence: Evidence, key: Key) -> tuple[list[Row], list[str]]:
    """Return the lines that carry the value as rows, and the others."""
    rows: list[Row] = []
    others: list[str] = []
    moving: Group = "moving"
    groups: list[Group] = [*("tared" if rest.shown.value < 0 else "rest" for rest in evidence.rests), moving]
    for group, lines in zip(groups, [*(rest.lines for rest in evidence.rests), evidence.moving], strict=True):
        for line in lines:
            spot = locate(line, key)
            if spot is None:
                others.append(line)
                continue
            value = range(spot.at, spot.at + 1)
            tokens = list(spot.tokens)
            if key.sign == "before" and (at := sign_token(spot, "before")) is not None:
                value = range(at, spot.at + 1)
            elif key.sign == "after" and key.style.backwards and (at := sign_token(spot, "after")) is not None:
                value = range(spot.at, at + 1)
            elif key.sign == "parentheses" and spot.at and tokens[spot.at - 1].text == "(":
                value = range(spot.at - 1, min(spot.at + 2, len(tokens)))
            rows.append(Row(group, line, pieces_of(tokens, value=value, keep_signs=key.sign == "field")))
    return rows, others


def _learn(evidence: Evidence, frames: Frames, key: Key, *, name: str) -> Taught | NeedsMore | Unreadable:
    """Write the profile and read everything again with it."""
    rows, others = _rows(evidence, key)
    resting = [row for row in rows if row.group != "moving"]
    text, words = _template(rows, key, frames)
    if text is None:
        text, words = _template(resting, key, frames)
    if text is None:
        return Unreadable("lines that change their form from one to the next", _READABLE, "this format I cannot read")
    unit = _unit([rest.shown for rest in evidence.rests], words)
    if not isinstance(unit, str):
        return unit
    try:
        profile = _profile(name, evidence, frames, key, words, text=text, unit=unit, others=others)
    except ValidationError:
        return Unreadable(f"lines like {text!r}", _READABLE, "this format I cannot read")
    trouble = _reread(profile, evidence, frames)
    return trouble or Taught(profile, _why(profile, key, evidence))


def _template(rows: Sequence[Row], key: Key, frames: Frames) -> tuple[str | None, Words]:
    """Lay rows over each other and write their template."""
    words, columns = Words(), overlay(rows)
    if columns is None:
        return None, words
    signed, checked = key.sign in {"field", "after"}, frames.checksum is not None
    return template_of(rows, columns, words, sign_field=signed, check=checked), words


def _unit(shown: Sequence[Shown], words: Words) -> str | NeedsMore | Unreadable:
    """Settle the unit between what was typed and what the lines say."""
    typed = {one.unit for one in shown if one.unit}
    sent = set(words.units.values())
    if len(typed) > 1 or len(sent) > 1:
        found = " and ".join(sorted(typed | sent))
        return Unreadable(f"units {found}", "one unit in all steps", "set the scale to one unit and teach again")
    if typed and sent and typed != sent:
        found = f"{typed.pop()} typed and {sent.pop()} in the lines"
        return Unreadable(found, "the unit the display shows", "look at the display's unit again")
    if not typed and not sent:
        return NeedsMore("unit", "the lines name no unit: type it with the number, for instance 512.3 g")
    return (sent or typed).pop()


def _profile(
    name: str, evidence: Evidence, frames: Frames, key: Key, words: Words, *, text: str, unit: str, others: list[str]
) -> ScaleProfile:
    check = "{check}" if frames.checksum else ""
    forms = [ScaleLine(text=text + check)]
    if key.sign == "parentheses":
        forms.insert(0, ScaleLine(text=text.replace("{value}", "({value})") + check, negative=True))
    over = {line.strip() for line in evidence.overload}
    if len(over) == 1:
        forms.insert(0, ScaleLine(says="overload", text="~" + _quoted(over.pop()) + "~" + check))
    forms += [ScaleLine(says="nothing", text=other + check) for other in _other_forms(others, check=bool(check))]
    style = key.style
    return ScaleProfile(
        name=name,
        title="Learnt from the scale's own lines",
        frame=Frame(end=frames.end, start=frames.start, length=frames.length),
        numbers=Numbers.model_validate(
            {
                "decimal": style.decimal,
                "thousands": style.thousands,
                "implied": style.implied,
                "backwards": style.backwards,
                "places": -1 if style.implied else style.places,
            }
        ),
        units=words.units,
        unit=unit,
        state=StateWords(steady=words.steady, moving=words.moving),
        tare=KindWords(net=words.net, gross=words.gross),
        checksum=frames.checksum,
        line=tuple(forms),
    )


def _quoted(text: str) -> str:
    return text.replace("{", "{{").replace("}", "}}").replace("~", "~~")


def _other_forms(lines: Sequence[str], *, check: bool) -> list[str]:
    """Describe the lines that carry no weight, so that they are not called faults."""
    groups: dict[tuple[str, ...], list[Row]] = {}
    for line in lines:
        pieces = pieces_of(tokenise(line, decimal="."), value=None, keep_signs=True)
        groups.setdefault(tuple(piece.text if piece.kind == "text" else piece.kind for piece in pieces), []).append(
            Row("rest", line, pieces)
        )
    forms: list[str] = []
    for rows in list(groups.values())[:16]:
        columns = overlay(rows)
        taken = Words(taken={"unit", "state", "kind"})
        text = template_of(rows, columns, taken, sign_field=False, check=check) if columns else None
        if text is not None and len(rows) > 1:
            forms.append(text)
    return forms


def _reread(profile: ScaleProfile, evidence: Evidence, frames: Frames) -> Unreadable | None:
    """Read every settled line with the new profile; one wrong number is one too many."""
    plain = profile.model_copy(
        update={
            "checksum": None,
            "frame": profile.frame.model_copy(update={"length": 0, "start": "", "end": "\n", "drop_first": False}),
            "line": tuple(form.model_copy(update={"text": form.text.removesuffix("{check}")}) for form in profile.line)
            if frames.checksum
            else profile.line,
        }
    )
    slack = Decimal("2.5").scaleb(-max(rest.shown.places for rest in evidence.rests))
    for rest in evidence.rests:
        driver = StreamingScale(plain)
        raw = "".join(line + "\n" for line in rest.lines).encode("latin-1")
        values = [
            item.value
            for item in driver.feed(raw, 0)
            if isinstance(item, Reading) and item.condition is Condition.WEIGHT and item.value is not None
        ]
        near = sum(abs(value - rest.shown.value) <= slack for value in values)
        if not values or near < 0.8 * len(values):
            found = f"{near} of {len(values)} readings near {rest.shown.value}"
            return Unreadable(found, "every settled line read", "teach again with a pan at rest; or I cannot read it")
    return None


def _why(profile: ScaleProfile, key: Key, evidence: Evidence) -> tuple[str, ...]:
    main = next(form for form in profile.line if form.says == "weight" and not form.negative)
    why = [
        f"{sum(len(rest.lines) for rest in evidence.rests)} settled lines in {len(evidence.rests)} steps agree",
        f"the value is number {key.place + 1} of the line" + (f" after {key.label!r}" if key.label else ""),
        f"a line reads as {main.text!r}, unit {profile.unit}",
    ]
    if profile.state.moving:
        moving = ", ".join(repr(word) for word in profile.state.moving)
        why.append(f"a moving pan shows {moving} instead of {', '.join(repr(word) for word in profile.state.steady)}")
    if profile.checksum:
        why.append(f"check characters hold: {profile.checksum.kind}, and are asked for from now on")
    if not evidence.tared:
        why.append("no negative number was seen: a line with one is read only if its sign stands before the number")
    return tuple(why)
