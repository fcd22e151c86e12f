"""A card as one HTML file: nothing is fetched, nothing runs, and on paper it looks as the PDF does."""

from __future__ import annotations

import base64
import re
from functools import cache
from itertools import count
from pathlib import Path
from xml.etree import ElementTree

from jinja2 import Environment, StrictUndefined, Template
from markupsafe import Markup

from truethrow.worksheets.prints.keeping import Node
from truethrow.worksheets.prints.texts import BREAK, HELD

_HERE = Path(__file__).parent
_SVG = "http://www.w3.org/2000/svg"
_KEPT = {"href", "{http://www.w3.org/1999/xlink}href"}


def as_html(sheet: Node) -> str:
    """A card as layout.sheet lays it out. Labels are text wherever they stand; the page's policy forbids scripts
    besides."""
    numbers = count()

    def drawing(picture: Node) -> Markup:
        return Markup(inline(picture["svg"], f"p{next(numbers)}-", picture["words"]))

    page = _template().render(
        sheet,
        faces=Markup(_faces()),
        footer_css=Markup(css_string(sheet["footer"])),
        inline=drawing,
        number=lambda: next(numbers),
    )
    # What is copied out of the page, a command or a name of Python, is what was typed, without a character that
    # nobody sees.
    return "".join(map(_held, _BETWEEN_WORDS.split(page))).replace(BREAK, "<wbr/>")


# What stands between two words of a page, each a word of its own here.
_BETWEEN_WORDS = re.compile(f"([ \\n<>{BREAK}])")


def _held(word: str) -> str:
    return f'<span class="held-word">{word.replace(HELD, "")}</span>' if HELD in word else word


def css_string(text: str) -> str:
    """A text as a string of a style sheet: all that is not a letter or a digit as its code point."""
    return '"' + "".join(c if c.isascii() and c.isalnum() else f"\\{ord(c):06x}" for c in text) + '"'


def inline(svg: str, prefix: str, words: str) -> str:
    """A drawing to stand among others in one page: its ids prefixed, named for who cannot see it.

    Raises ValueError for what is no drawing, or could run something."""
    ElementTree.register_namespace("", _SVG)
    root = ElementTree.fromstring(svg)
    for element in root.iter():
        if element.tag.rpartition("}")[2] in ("script", "foreignObject"):
            raise ValueError(f"a drawing with a {element.tag}")
        for name, value in element.attrib.items():
            if name.lower().startswith("on"):
                raise ValueError(f"a drawing with {name}")
            if name == "id":
                element.set(name, prefix + value)
            elif name in _KEPT:
                element.set(name, _local(value, prefix))
            elif "url(#" in value:
                element.set(name, value.replace("url(#", f"url(#{prefix}"))
    root.attrib.pop("width", None)
    root.attrib.pop("height", None)
    root.set("role", "img")
    root.set("aria-label", words)
    return ElementTree.tostring(root, encoding="unicode")


def _local(link: str, prefix: str) -> str:
    if not link.startswith("#"):
        raise ValueError("a drawing with a link to elsewhere")
    return f"#{prefix}{link[1:]}"


@cache
def _template() -> Template:
    environment = Environment(autoescape=True, undefined=StrictUndefined)
    return environment.from_string((_HERE / "page.html").read_text(encoding="utf-8"))


def with_fonts(svg: str) -> str:
    """A drawing as a file of its own, which brings along the type that it was drawn for: in a wider one its texts
    would lie over each other."""
    head, end, rest = svg.partition(">")
    return f"{head}{end}<style>{_faces()}</style>{rest}"


@cache
def _faces() -> str:
    """The cards' own type, as a style sheet has it."""
    return "\n".join(_face(name, weight) for name, weight in (("Regular", 400), ("Bold", 700)))


def _face(name: str, weight: int) -> str:
    raw = base64.b64encode((_HERE / "fonts" / f"B612-{name}.ttf").read_bytes()).decode("ascii")
    source = f'url(data:font/ttf;base64,{raw}) format("truetype")'
    return f"@font-face {{ font-family: B612; font-weight: {weight}; src: {source}; }}"
