"""Draws README's pictures from the dashboard as it is now: `python tests/golden/make_pictures.py`.

Needs Pillow and the font DejaVu Sans Mono. The views are those of the screens' tests.
"""

from __future__ import annotations

import asyncio
import sys
from pathlib import Path

from PIL import Image, ImageDraw, ImageFont
from rich.color import Color

sys.path.insert(0, str(Path(__file__).parents[1] / "screens"))

from listening_desk import ListeningDesk, settle, some_state, view_of

from bench.models.job import Cell
from bench.screens.app import BenchApp
from bench.use_cases.cautions import BEFORE_DRILLING
from bench.use_cases.view import BenchView, Doing, LiveLine, Notice, Step, Tone, Want

HERE = Path(__file__).parent / "pictures"
SIZE = (112, 36)
CELL = (11, 22)
FONT = ImageFont.truetype("DejaVuSansMono.ttf", 18)
BOLD = ImageFont.truetype("DejaVuSansMono-Bold.ttf", 18)

VIEWS: dict[str, BenchView] = {
    "weigh": view_of(
        some_state(cells=11),
        Step.WEIGH,
        Want(Doing.LAY, cell=Cell(kind="pin", place=4)),
        live=LiveLine("152.4", "g", "settling"),
        notice=Notice(1, "taken: piston pin 3, 152.3 g", Tone.ACCEPT, "good"),
    ),
    "spin": view_of(
        some_state(runs=3),
        Step.SPIN,
        Want(Doing.CUT, run=3),
        notice=Notice(1, "run 3 is in: front 2.78 g, rear 1.57 g", Tone.ACCEPT, "info"),
        cautions=BEFORE_DRILLING,
    ),
}


def rgb(color: Color | None, other: tuple[int, int, int]) -> tuple[int, int, int]:
    """Return a color's three numbers."""
    return other if color is None or color.is_default else tuple(color.get_truecolor())


def block(character: str) -> tuple[float, float, float, float] | None:
    """Return the part of its cell that a block character fills: left, top, right, bottom."""
    return {"█": (0, 0, 1, 1), "▀": (0, 0, 1, 0.5), "▄": (0, 0.5, 1, 1), "▌": (0, 0, 0.5, 1), "▐": (0.5, 0, 1, 1)}.get(
        character
    )


async def draw(name: str, view: BenchView) -> None:
    """Draw one view cell by cell."""
    app = BenchApp(ListeningDesk(view), tone_player=lambda _: None)
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        strips = app.screen._compositor.render_strips()
        picture = Image.new("RGB", (SIZE[0] * CELL[0], SIZE[1] * CELL[1]))
        pen = ImageDraw.Draw(picture)
        for row, strip in enumerate(strips):
            column = 0
            for segment in strip:
                style = segment.style
                front = rgb(style.color if style else None, (220, 220, 220))
                back = rgb(style.bgcolor if style else None, (20, 20, 20))
                if style is not None and style.reverse:
                    front, back = back, front
                for character in segment.text:
                    left, top = column * CELL[0], row * CELL[1]
                    pen.rectangle((left, top, left + CELL[0] - 1, top + CELL[1] - 1), fill=back)
                    part = block(character)
                    if part is not None:
                        x0, y0, x1, y1 = (share * CELL[axis % 2] for axis, share in enumerate(part))
                        pen.rectangle((left + x0, top + y0, left + x1 - 1, top + y1 - 1), fill=front)
                    elif character != " ":
                        font = BOLD if style is not None and style.bold else FONT
                        pen.text((left, top), character, fill=front, font=font)
                    column += 1
        picture.save(HERE / f"{name}.png", optimize=True)


def main() -> None:
    """Draw all."""
    for name, view in VIEWS.items():
        asyncio.run(draw(name, view))


if __name__ == "__main__":
    main()
