"""What a subject of `calc` is, and how one is found by its name."""

from __future__ import annotations

import importlib
import pkgutil
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Generic, TypeVar

from pydantic import BaseModel

from bench.command_line.calc import subjects

Asked = TypeVar("Asked", bound=BaseModel)


@dataclass(frozen=True, slots=True)
class Subject(Generic[Asked]):
    """One subject.

    Attributes
    ----------
    words : str
        One line of help.
    asked : type[Asked]
        Model of the JSON that comes in.
    answered : type[BaseModel]
        Model of the JSON that goes out.
    answer : Callable[[Asked], BaseModel]
        Computes; raises QuantityError on input that cannot be worked with.
    example : str
        A worked example: the JSON that comes in. What goes out stands in `example_answer`.
    example_answer : str
        The JSON that goes out for the example.
    fields : Mapping[str, str]
        Path of the JSON field for names of quantities that differ from it.
    """

    words: str
    asked: type[Asked]
    answered: type[BaseModel]
    answer: Callable[[Asked], BaseModel]
    example: str
    example_answer: str
    fields: Mapping[str, str] = field(default_factory=dict[str, str])


def subject_names() -> tuple[str, ...]:
    """Return the names of all subjects; no subject is loaded for it.

    Returns
    -------
    tuple[str, ...]
        Sorted.
    """
    return tuple(sorted(module.name.replace("_", "-") for module in pkgutil.iter_modules(subjects.__path__)))


def subject_named(name: str) -> Subject[BaseModel]:
    """Load a subject.

    Parameters
    ----------
    name : str
        One of `subject_names()`.

    Returns
    -------
    Subject[BaseModel]
        The module's SUBJECT.

    Raises
    ------
    KeyError
        If there is no such subject.
    """
    if name not in subject_names():
        raise KeyError(name)
    module = importlib.import_module(f"{subjects.__name__}.{name.replace('-', '_')}")
    subject: Subject[BaseModel] = module.SUBJECT
    return subject
