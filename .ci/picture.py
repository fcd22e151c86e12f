"""Make the README's picture: the demo's own output, as a drawing. Run: python .ci/picture.py [file]"""

import subprocess
import sys
import tempfile
from html import escape
from pathlib import Path

PICTURE = Path(__file__).parents[1] / "worksheets" / "pictures" / "demo.svg"
SIZE, LEADING, MARGIN, COLUMNS = 13, 17, 18, 112
HEADINGS = ("Job ", "Bobweights", "Hang ", "Spreads", "Look again", "Trim", "For the station")


def main() -> None:
    Path(sys.argv[1] if len(sys.argv) > 1 else PICTURE).write_text(drawing(), encoding="utf-8")


def drawing() -> str:
    """The demo on one page. Words that matter are told by weight, not by colour."""
    with tempfile.TemporaryDirectory() as folder:
        command = [sys.executable, "-c", "from truethrow.cli.main import main; main()", "demo"]
        run = subprocess.run(command, cwd=folder, capture_output=True, text=True, check=True, encoding="utf-8")
    lines = [part for text in run.stdout.splitlines() for part in wrapped(text)]
    width, height = round(COLUMNS * SIZE * 0.602) + 2 * MARGIN, LEADING * len(lines) + 2 * MARGIN
    drawn = "\n".join(
        f'<text x="{MARGIN}" y="{MARGIN + LEADING * (i + 0.8):.1f}"{weight(text)}>{escape(text)}</text>'
        for i, text in enumerate(lines)
        if text
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" width="{width}" '
        f'font-family="ui-monospace, DejaVu Sans Mono, Consolas, Menlo, monospace" font-size="{SIZE}" '
        'xml:space="preserve">\n<rect width="100%" height="100%" fill="#fff" stroke="#000"/>\n'
        f"{drawn}\n</svg>\n"
    )


def wrapped(text: str) -> list[str]:
    lines, line = [], text
    while len(line) > COLUMNS:
        cut = line.rfind(" ", 0, COLUMNS)
        lines.append(line[:cut])
        line = "  " + line[cut + 1 :]
    return [*lines, line]


def weight(text: str) -> str:
    return ' font-weight="bold"' if text.startswith(HEADINGS) or "OUTSIDE" in text else ""


if __name__ == "__main__":
    main()
