"""An invented card with every block and every cell, and the same one with texts that mean harm."""

from __future__ import annotations

from truethrow.balance.base.amounts import Amount
from truethrow.worksheets.cards import code
from truethrow.worksheets.cards.card import (
    Big,
    Bigs,
    Blank,
    Block,
    Card,
    CardTable,
    Figure,
    Lines,
    Marked,
    Picture,
    Side,
    Tick,
    Tile,
    Tiles,
    Word,
)

KIND = "bobweight"
DATE = "2026-11-25"

HOSTILE = {
    "markup": "<script>document.documentElement.id='owned'</script><img src=x onerror=\"document.title='owned'\">",
    "typst": '#panic("owned") $x$ *bold* @ref <tag> #eval("1") \\ // no comment',
    "formula": "=cmd|' /C calc'!A0",
    "long": "W" * 300,
    "words": "a label of many words " * 14,
    "arabic": "ذراع التوصيل رقم سبعة 7",
    "emoji": "rod 🔧 7 👩🏽‍🔧",
    "bidi": "\u202etfel ot thgir\u202c rod \u2066 7",
    "marks": "Z" + "\u0351\u0337" * 40 + " seven",
    "control": "bell\x07 null\x00 escape\x1b[31m \ud800 \ufffe",
    "css": "</style><style>*{display:none}</style> } body{display:none}",
    "plus": "+1+1",
    "at": "@SUM(A1)",
    "empty": "",
}


def drawing(words: str = "throw 1", wide: float = 120.0, high: float = 60.0) -> str:
    """A counterweight of no engine, with a pattern by an id that all of these drawings share."""
    safe = "".join(c for c in words[:16] if c.isprintable()).replace("&", "&amp;").replace("<", "&lt;")
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {wide:g} {high:g}" width="{wide:g}mm" '
        f'height="{high:g}mm"><defs><pattern id="hatch" width="2" height="2" patternUnits="userSpaceOnUse" '
        'patternTransform="rotate(45)"><path d="M0 0V2" stroke="#000" stroke-width="0.5"/></pattern></defs>'
        f'<rect x="1" y="1" width="{wide - 2:g}" height="{high - 2:g}" fill="none" stroke="#000"/>'
        f'<circle cx="{wide / 2:g}" cy="{high / 2:g}" r="{high / 3:g}" fill="url(#hatch)" stroke="#000"/>'
        f'<text x="4" y="10" font-size="5" font-family="B612, DejaVu Sans Mono, sans-serif">{safe}</text></svg>'
    )


def _data(throws: int) -> dict[str, object]:
    return {
        "throws": [
            {"throw": str(n), "hang_g": 1789.4 - 0.3 * n, "least_g": 0.1 * n} for n in range(1, throws + 1)
        ],
        "limit_g": 1.5,
        "runs": 2,
    }


def card(hostile: bool = False, throws: int = 4) -> Card:
    """Every block, every cell, each weight. hostile: with all texts that mean harm in place of the labels."""
    data = _data(throws)
    names = list(HOSTILE.values()) if hostile else [f"R{n}" for n in range(1, 9)]

    def name(at: int) -> str:
        return names[at % len(names)]

    def hung(n: int) -> Figure:
        grams = 1789.4 - 0.3 * n
        return Figure(Amount(grams, 1, "g"), grams, ("throws", n - 1, "hang_g"))

    blocks: tuple[Block, ...] = (
        Bigs(
            (
                Big("Hang on every throw", hung(1), "mean of four"),
                Big("Limit", Figure(Amount(1.5, 1, "g"), 1.5, ("limit_g",)), name(0)),
                Big("State", Word("OUTSIDE", "inverse"), "see below"),
            )
        ),
        Bigs(tuple(Big(f"Throw {n}", hung(1)) for n in range(1, 6))),
        CardTable(
            "throws",
            ("throw", "hang", "done", "weighed", "verdict", "label"),
            tuple(
                (str(n), hung(n), Tick(n == 1), Blank("g"), Word(*verdict(n)), name(n))
                for n in range(1, throws + 1)
            ),
            caption="What hangs on each throw",
            wide=5,
        ),
        Lines(("Guards shut before it turns.", name(0) + " " + name(4)), "First", "framed"),
        Lines(("Do not hang from an old card.",), "Stop", "inverse"),
        Side(
            (
                (
                    Picture("turn", drawing(name(0)), "A hatched circle in a frame", name(1)),
                    Lines(("Beside a table.",)),
                ),
                (
                    CardTable(
                        "spreads",
                        ("set", "spread", "of"),
                        (
                            ("rods", Marked(Figure(Amount(1.2, 2, "g"), 1.2, ("limit_g",)), "▲"), "8"),
                            ("pins", Marked(Figure(Amount(0.35, 2, "g"), 0.35, ("limit_g",)), "▼"), "8"),
                            (name(5), Figure(Amount(-0.4, 1, "g"), -0.4, ("limit_g",)), "8"),
                        ),
                    ),
                ),
            ),
            (1, 1),
        ),
        CardTable(
            "large",
            ("throw", "grams", "tick"),
            tuple((str(n), hung(n), Tick()) for n in range(1, throws + 1)),
            large=True,
        ),
        Tiles(
            tuple(
                Tile(
                    f"Throw {n} {name(n)}",
                    Picture(f"throw-{n}", drawing(f"throw {n} {name(n)}"), f"throw {n}"),
                    (
                        ("take", (Figure(Amount(1.9, 1, "g"), 1.9, ("limit_g",)), Tick())),
                        ("weighed", (Blank("g"), Blank())),
                        (name(n + 1), (name(n + 2),)),
                    ),
                )
                for n in range(1, throws + 1)
            )
        ),
        Picture("whole", drawing("whole", 160, 50), "A wide drawing", "At half the page's width", 0.5),
        Lines(tuple(names), "All labels"),
    )
    digest = code.digest(data)
    job = "launch-7" if not hostile else names[0][:64]
    return Card(
        kind=KIND,
        title="What to hang" if not hostile else name(3),
        job_id=job,
        job_title="A V8 of nobody" if not hostile else name(4),
        about="" if not hostile else name(5),
        job_digest="1f6e0d2c9a40",
        date=DATE,
        digest=digest,
        code=str(code.Code(job, KIND, "1f6e0d2c9a40", digest)),
        blocks=blocks,
        cautions=(
            "A spinning crank hurts: guards shut, eyes and lungs protected.",
            "The makers' limits come first.",
        ),
        data=data,
    )


def verdict(n: int) -> tuple[str, str]:
    return (("inside", "plain"), ("too close to call", "framed"), ("OUTSIDE", "inverse"))[n % 3]
