"""Make the README's pictures: the demo as a drawing, and its station card. Run: python .ci/picture.py"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING

from truethrow.cli.show import verdict

if TYPE_CHECKING:
    from PIL.Image import Image

PICTURES = Path(__file__).parents[1] / "worksheets" / "pictures"
SIZE, LEADING, MARGIN, COLUMNS = 13, 17, 18, 80
CARD_DPI = 90
STRONG = "\x01"  # before a line that the screen shows strong, which a pipe cannot show
MARKING = f"""
from truethrow.cli import show
from truethrow.cli.main import main
plain = show.Screen._write
show.Screen._write = lambda out, text, style=None: plain(out, {STRONG!r} + text if style == "bold" else text)
main()
"""


def main() -> None:
    (PICTURES / "demo.svg").write_text(drawing(), encoding="utf-8")
    card().save(PICTURES / "station-card.png", optimize=True)


def drawing() -> str:
    """The demo on one page. Words that matter are told by weight, not by colour."""
    with tempfile.TemporaryDirectory() as folder:
        run = truethrow(folder, "demo", code=MARKING)
    lines = [(text.lstrip(STRONG), text.startswith(STRONG)) for text in run.stdout.split("\n")[:-1]]
    width, height = round(COLUMNS * SIZE * 0.602) + 2 * MARGIN, LEADING * len(lines) + 2 * MARGIN
    drawn = "\n".join(
        f'<text x="{MARGIN}" y="{MARGIN + LEADING * (i + 0.8):.1f}"{weight(text, strong)}>{columns(text)}</text>'
        for i, (text, strong) in enumerate(lines)
        if text
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" width="{width}" '
        f'font-family="ui-monospace, DejaVu Sans Mono, Consolas, Menlo, monospace" '
        f'font-size="{SIZE}">\n<rect width="100%" height="100%" fill="#fff" stroke="#000"/>\n'
        f"{drawn}\n</svg>\n"
    )


def card() -> Image:
    """The first page of the station card once the demo's crank was spun, in shades of grey."""
    import pypdfium2  # noqa: PLC0415 (the tests make the drawing without it)

    with tempfile.TemporaryDirectory() as folder:
        truethrow(folder, "demo", "--cards", "--into", ".")
        with pypdfium2.PdfDocument(Path(folder) / "cards" / "2-spun" / "station.pdf") as pages:
            return pages[0].render(scale=CARD_DPI / 72).to_pil().convert("L").quantize(16)


def truethrow(
    folder: str, *arguments: str, code: str = "from truethrow.cli.main import main; main()"
) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-c", code, *arguments]
    screen = os.environ | {"COLUMNS": str(COLUMNS)}
    return subprocess.run(
        command, cwd=folder, capture_output=True, text=True, check=True, encoding="utf-8", env=screen
    )


def columns(text: str) -> str:
    """A line whose columns stay: one browser or other makes one blank of many, whatever it is told."""
    return escape(text).replace(" ", "\N{NO-BREAK SPACE}")


def weight(text: str, strong: bool) -> str:
    return ' font-weight="bold"' if strong or verdict("outside") in text.split() else ""


if __name__ == "__main__":
    main()
