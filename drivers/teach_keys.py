"""Finds the one place in the lines that carries what the display showed."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from itertools import product
from typing import Literal

from drivers.number_style import NumberStyle
from drivers.teach_states import Evidence, Rest
from drivers.teach_tokens import Token, cut_in_two, tokenise

SignPlace = Literal["before", "after", "parentheses", "field", "nowhere"]
_SIGN_PLACES: tuple[SignPlace, ...] = ("before", "after", "parentheses", "field")
_AGREEING_SHARE = 0.8
_FEWEST_LINES = 3
_SLACK_DIVISIONS = Decimal("2.5")
_PLACES_TRIED = 12


@dataclass(frozen=True, slots=True)
class Key:
    """How to find the value in a line.

    Attributes
    ----------
    style : NumberStyle
        How the number is written.
    among : str
        "fractions" counts numbers with a fraction, "numbers" counts all.
    place : int
        Which of them, from the left, counted from 0.
    label : str
        The word that must stand before it, or empty for any.
    sign : SignPlace
        Where the sign stands.
    """

    style: NumberStyle
    among: Literal["fractions", "numbers"]
    place: int
    label: str
    sign: SignPlace


@dataclass(frozen=True, slots=True)
class Spot:
    """The value's place in one line.

    Attributes
    ----------
    tokens : tuple[Token, ...]
        All tokens of the line.
    at : int
        Which of them is the value.
    """

    tokens: tuple[Token, ...]
    at: int

    @property
    def token(self) -> Token:
        """The value's token."""
        return self.tokens[self.at]


def locate(line: str, key: Key) -> Spot | None:
    """Find the value in a line.

    Parameters
    ----------
    line : str
        A whole line.
    key : Key
        How to find it.

    Returns
    -------
    Spot | None
        None when the line has no such place.
    """
    tokens = tokenise(line, decimal=key.style.decimal, thousands=key.style.thousands)
    kinds = {"number"} if key.among == "fractions" else {"number", "digits"}
    places = [at for at, token in enumerate(tokens) if token.kind in kinds]
    if key.place >= len(places):
        return None
    spot = Spot(tokens, places[key.place])
    if key.label and _label(spot) != key.label:
        return None
    if spot.token.kind == "digits" and cut_in_two(line, spot.token):
        return None
    return spot


def _label(spot: Spot) -> str:
    """Return the nearest word before the value, with nothing but marks between."""
    for token in reversed(spot.tokens[: spot.at]):
        if token.kind == "word":
            return token.text
        if token.kind != "mark":
            return ""
    return ""


def sign_token(spot: Spot, sign: SignPlace) -> int | None:
    """Return which token is the sign, when the line has one at that place.

    Parameters
    ----------
    spot : Spot
        The value's place.
    sign : SignPlace
        Where to look.

    Returns
    -------
    int | None
        Index of the token.
    """
    tokens, at = spot.tokens, spot.at
    if sign == "before":
        return at - 1 if at and _is_sign(tokens[at - 1]) and _free(tokens, at - 1) else None
    if sign == "after":
        following = at + 1
        fits = following < len(tokens) and _is_sign(tokens[following]) and tokens[following].start == tokens[at].end
        return following if fits else None
    if sign == "field":
        return next((place for place in range(at - 2, -1, -1) if _alone(tokens, place)), None)
    return None


def _is_sign(token: Token) -> bool:
    return token.text in {"+", "-"}


def _alone(tokens: tuple[Token, ...], at: int) -> bool:
    """Tell a sign that fills a field of its own: nothing but marks or blanks on both sides."""
    following = tokens[at + 1]
    ends = following.start > tokens[at].end or following.kind == "mark"
    return _is_sign(tokens[at]) and _free(tokens, at) and ends


def _free(tokens: tuple[Token, ...], at: int) -> bool:
    """Tell a sign from a hyphen: a hyphen has something right before it."""
    return not at or tokens[at - 1].end < tokens[at].start or tokens[at - 1].kind == "mark"


def value_at(spot: Spot, key: Key) -> Decimal | None:
    """Read the value at a place.

    Parameters
    ----------
    spot : Spot
        The place.
    key : Key
        How it is written.

    Returns
    -------
    Decimal | None
        None when the digits are too many.
    """
    value = key.style.read(spot.token.text)
    if value is None:
        return None
    if key.sign == "parentheses":
        around = spot.tokens[max(0, spot.at - 1) : spot.at + 2]
        negative = len(around) == 3 and around[0].text == "(" and around[2].text == ")"
    else:
        at = sign_token(spot, key.sign)
        negative = at is not None and spot.tokens[at].text == "-"
    return -value if negative else value


def _agrees(rest: Rest, key: Key, places: int) -> bool:
    """Tell whether the key reads what the display showed, in enough lines of a step."""
    spots = [spot for spot in (locate(line, key) for line in rest.lines) if spot is not None]
    if len(spots) < min(_FEWEST_LINES, len(rest.lines)) or not spots:
        return False
    slack = _SLACK_DIVISIONS.scaleb(-places)
    good = 0
    for spot in spots:
        value = value_at(spot, key)
        if value is None:
            continue
        written = -int(value.as_tuple().exponent)
        near = abs(value - rest.shown.value) <= slack
        # A zero that was not typed with its decimals is a zero all the same.
        good += near and (written == places)
    return good >= _AGREEING_SHARE * len(spots)


def _styles(places: int) -> list[tuple[NumberStyle, Literal["fractions", "numbers"]]]:
    """List the ways to write a number with so many decimals."""
    styles: list[tuple[NumberStyle, Literal["fractions", "numbers"]]] = []
    if places:
        for decimal, thousands in ((".", ""), (",", ""), (".", ","), (".", "'"), (",", "."), (",", "'")):
            styles.append((NumberStyle(decimal=decimal, thousands=thousands, places=places), "fractions"))
            styles.append((NumberStyle(decimal=decimal, thousands=thousands, places=places), "numbers"))
        styles.extend((NumberStyle(decimal=mark, backwards=True, places=places), "fractions") for mark in ".,")
        styles.append((NumberStyle(implied=places), "numbers"))
    else:
        styles.append((NumberStyle(places=0), "numbers"))
    return styles


def find_keys(evidence: Evidence) -> list[Key]:
    """List every key that reads what the display showed in every step.

    Parameters
    ----------
    evidence : Evidence
        The lines of all steps.

    Returns
    -------
    list[Key]
        The simplest first: without a label, sign before the number, counted among fractions.
    """
    places = max(rest.shown.places for rest in evidence.rests)
    labels = ["", *sorted(_words(evidence))]
    keys: list[Key] = []
    for label, sign, (style, among) in product(labels, _SIGN_PLACES, _styles(places)):
        if style.backwards and sign not in {"after", "before"}:
            continue
        for place in range(_PLACES_TRIED):
            key = Key(style, among, place, label, sign)
            if not label and not any(locate(line, key) for line in evidence.rests[0].lines):
                break
            if all(_agrees(rest, key, places) for rest in evidence.rests):
                keys.append(key)
    return keys


def _words(evidence: Evidence) -> set[str]:
    words: set[str] = set()
    for rest in evidence.rests:
        for line in rest.lines[:12]:
            words.update(token.text for token in tokenise(line, decimal=".") if token.kind == "word")
    return words


def choose_key(keys: list[Key], evidence: Evidence) -> Key | None:
    """Choose the key when all of them mean one place.

    Parameters
    ----------
    keys : list[Key]
        What `find_keys` gave, not empty.
    evidence : Evidence
        The lines of all steps.

    Returns
    -------
    Key | None
        None when the keys read different places and the steps do not tell them apart.
    """
    readings = {key: [_place_of(line, key) for line in evidence.lines] for key in keys}
    best = keys[0]
    chosen = readings[best]
    for key, places in readings.items():
        for own, other in zip(chosen, places, strict=True):
            if other is not None and own != other and not (evidence.tared and _same_value(own, other)):
                return None
        if key.sign != best.sign and not evidence.tared and any("-" in line for line in evidence.lines):
            return None
    return best


def _place_of(line: str, key: Key) -> tuple[int, Decimal | None] | None:
    spot = locate(line, key)
    return None if spot is None else (spot.token.start, value_at(spot, key))


def _same_value(own: tuple[int, Decimal | None] | None, other: tuple[int, Decimal | None]) -> bool:
    return own is not None and own[1] == other[1]
