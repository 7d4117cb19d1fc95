"""Kinds of values that options of the command take, with what is allowed said in plain words."""

from __future__ import annotations

from typing import Any

import click

EMPTY = "it is empty; name something, or leave it out"


class File(click.Path):
    """A path, which shells complete; what is wrong with it is said where it is opened. An empty one
    would be this folder: it comes of a script's variable that is not set."""

    def __init__(self, *, folder: bool = False) -> None:
        super().__init__(file_okay=not folder, readable=False)

    def convert(self, value: Any, param: Any, ctx: Any) -> Any:
        if value == "":
            self.fail(EMPTY, param, ctx)
        return super().convert(value, param, ctx)


class Word(click.ParamType):  # type: ignore[type-arg,unused-ignore]
    """A name of something that is no file."""

    name = "text"

    def convert(self, value: Any, param: Any, ctx: Any) -> str:
        if not str(value).strip():
            self.fail(EMPTY, param, ctx)
        return str(value)


class Whole(click.IntRange):
    """A whole number within bounds."""

    def convert(self, value: Any, param: Any, ctx: Any) -> Any:
        try:
            return super().convert(value, param, ctx)
        except click.BadParameter:
            said = f"{str(value)!r} is not a whole number from {self.min} to {self.max}"
            self.fail(said, param, ctx)


class Number(click.FloatRange):
    """A number within bounds."""

    def convert(self, value: Any, param: Any, ctx: Any) -> Any:
        try:
            number = super().convert(value, param, ctx)
        except click.BadParameter:
            number = float("nan")
        if number != number:
            self.fail(f"{str(value)!r} is not a number from {self.min} to {self.max}", param, ctx)
        return number
