"""A machinist's own wording of what was done, made into the plain phrases that as_said reads: units and fractions
as they are written at the bench, several figures in one phrase, and words that mean one thing.

What could mean two things is not made plain, and refused: each with the one line that mends it (mended).
"""

from __future__ import annotations

import re
from collections.abc import Iterator

_MARKS = str.maketrans({"“": '"', "”": '"', "″": '"', "º": "°", "×": "x", "ø": " dia ", "⌀": " dia ", "’": "'"})
_UNITS = {
    "in": r'"|inch(?:es)?\b|in\b\.?',
    "mm": r"millimet(?:er|re)s?\b|mm\b\.?",
    "g": r"grams?\b|gms?\b|g\b\.?",
    "oz": r"ounces?\b|oz\b\.?",
    "deg": r"degrees?\b|degs?\b\.?|°",
}
_FRACTION = re.compile(r"(?<![\d.,/])(?:(\d+)[ -])?(\d+)/(2|4|8|16|32|64)(?![\d/])\s*(in\b|mm\b)?")
_THOU = re.compile(r"(\d+(?:[.,]\d+)?)\s*thou(?:s|sandths?)?\b")
_FIGURE = r"(?<![\w.,])[-+]?(?:\d+(?:[.,]\d+)?|[.,]\d+)"
_TIMES = re.compile(rf"({_FIGURE}) ?(mm|in|cm)? ?([a-z ]*?) ?x ?(\d+(?:[.,]\d+)?|[.,]\d+) ?(mm|in|cm)? ?([a-z ]*)")
_FILLER = re.compile(r"\b(?:an?|(?<!from )(?<!along )the|with|using|of|was|were|is|w/|then|bit|carbide)(?:\s+|$)")
# One wording for another; each means just that.
_SAME = (
    (r"thru\b|all the way through|right through", "through"),
    (r"flat[ -]?bottom(?:ed)?|flat point", "flat"),
    (r"(?:tungsten|heavy[ -]metal)(?: slug)?", "slug"),
    (r"(?:in|into|from|on|at) (?:the )?rim", "rim"),
    (r"took off|taken off|removed|lost|ground off|cut off|came off|milled off|chips", "took"),
    (r"weld(?:ed)?(?: on| in| up)?|put (?:back|in)|filled(?: in| up)?|plug(?:ged)?|brazed(?: on| in)?", "added"),
    (r"drilled|drilling", "drill"),
    (r"diameter|dia\b\.?", "drill"),
    (r"depth|down", "deep"),
    (r"length", "long"),
    (r"on radius|at radius|rad\b\.?", "radius"),
    (r"off[ -]?(?:center|middle)", "off"),
)
# A phrase that says nothing certain → the line that mends it.
_UNSAID = (
    (
        r"added.*|weld.*|plug.*|filled.*",
        "what went in, as the scale has it",
        "added 6.5 g, 80 mm radius; a slug of heavy metal: 25 mm slug, 20 mm long, 62 mm radius, 148.2 g",
    ),
    (
        r"ground|ground (?:it|some|off|the rim|down)|grind.*|milled.*|turned.*|took|took some",
        "how much came off",
        "ground 20 deg wide, 1.5 mm deep; or as the scale has it: took 4.2 g, 80 mm radius",
    ),
    (r"drill|drill (?:it|hole|deeper)|hole|deeper", "with which drill, and how deep", "12.7 mm drill, 18 mm deep"),
    (
        r"(?:letter|number|no\.?|wire|#) ?[a-z0-9]{1,2} ?drill|drill (?:letter|number|no\.?|#) ?[a-z0-9]{1,2}|"
        r"#? ?[0-9]{1,2}# drill|[a-z] drill",
        "no drill is known by that",
        "letter F drill, #7 drill, or its diameter, such as 0.368 in drill",
    ),
    (r".*o'?clock.*", "a clock is no angle", "degrees from throw 1 in the direction of rotation, such as 137 deg"),
    (
        r".*\b(?:about|approx\w*|roughly|some|bit|half|almost|nearly|ca)\b.*|~.*",
        "it is not certain how much",
        "measured, such as 18 mm deep",
    ),
    (
        r"(?:deburr|chamfer|polish|clean|tap|ream)\w*.*",
        "it takes next to nothing, or nobody knows what",
        "leave it out; or as the scale has it: took 0.4 g, 80 mm radius",
    ),
    (r".*\d\s*gr\b.*", "gr can be grams or grains", "4.2 g"),
    (r".*\bmils?\b.*", "mil can be a thousandth of an inch or a millimeter", "0.040 in, or 1 mm"),
)
# The sizes of the examples, as a shop in inches and ounces types them.
_IN_INCHES = {
    "12.7 mm drill": "1/2 in drill",
    "18 mm deep": "0.7 in deep",
    "1.5 mm deep": "0.06 in deep",
    "25 mm slug": "1 in slug",
    "20 mm long": "0.8 in long",
    "60 mm radius": "2.4 in radius",
    "62 mm radius": "2.4 in radius",
    "80 mm radius": "3.2 in radius",
    "148.2 g": "5.23 oz",
    "0.4 g": "0.01 oz",
    "4.2 g": "0.15 oz",
    "6.5 g": "0.23 oz",
    "its grams": "its ounces",
}
_AGAINST = re.compile(
    r"(\d+(?:[.,]\d+)?) ?(?:deg)? (?:ccw|counter[ -]?clockwise|against|btdc|before|back)\b.*", re.IGNORECASE
)


def plain(phrase: str) -> str:
    """A phrase in plain words and units, lower case: ``1/2" drill`` → ``0.5 in drill``."""
    text = " ".join(phrase.lower().translate(_MARKS).split())
    for unit, written in _UNITS.items():
        text = re.sub(rf"(?<=[\d ])(?:{written})(?=$|[\s,;)x])", f" {unit}", text)
    text = _THOU.sub(lambda found: f"{float(found[1].replace(',', '.')) / 1000:g} in", text)
    text = _FRACTION.sub(_decimal, text)
    for written, same in _SAME:
        text = re.sub(rf"\b(?:{written})(?=$|[\s\d.])", same, text)
    text = re.sub(r"\bend ?mill\b", "drill flat", text)
    text = re.sub(r"(?<!\d)[.,](?=\d)", "0.", text)  # .5 is 0.5
    return re.sub(r"drill (?:hole|drill)\b", "drill", " ".join(_FILLER.sub("", text).split()))


def _decimal(found: re.Match[str]) -> str:
    """A fraction of an inch, which no other unit is written in; one with mm stays, to be refused."""
    if found[4] == "mm":
        return found[0]
    return f"{int(found[1] or 0) + int(found[2]) / int(found[3]):.6g} in "


def apart(phrase: str) -> Iterator[str]:
    """A plain phrase as one figure each: ``16 mm drill 18 mm deep``, ``16 x 18 mm``."""
    if times := _TIMES.fullmatch(phrase):
        wide, unit, kind, deep, other, more = times.groups()
        words = f"{kind} {more}".split()
        kinds = [word for word in words if word in ("drill", "hole", "slug", "bore")]
        rest = [word for word in words if word not in ("drill", "hole", "slug", "bore", "deep", "long")]
        yield f"{wide} {unit or other or ''} {kinds[0] if kinds else 'drill'}"
        yield f"{deep} {other or unit or ''} deep"
        yield from rest
        return
    figures = list(re.finditer(_FIGURE, phrase))
    if len(figures) < 2:
        yield from _flags_apart(phrase)
        return
    before = phrase[: figures[0].start()].strip()
    # Words behind each figure, or, where some are in front of the first, those in front of each.
    if before and not re.search(r"[a-z]", re.sub(r"\b(?:mm|in|cm|g|oz|deg)\b", "", phrase[figures[-1].end() :])):
        ends = [re.match(r" ?(?:mm|in|cm|g|oz|deg)\b", phrase[one.end() :]) for one in figures]
        cuts = [one.end() + (found.end() if found else 0) for one, found in zip(figures, ends, strict=True)]
        starts = [0, *cuts[:-1]]
    else:
        starts = [0, *(one.start() for one in figures[1:])]
    for start, end in zip(starts, [*starts[1:], len(phrase)], strict=True):
        yield from _flags_apart(phrase[start:end].strip())


def _flags_apart(phrase: str) -> Iterator[str]:
    """Words that stand for themselves, out of a phrase with a figure: ``6 mm drill through``."""
    flag = re.search(r"\b(?:through|flat|rim|axial|along the crank|from the (?:front|rear))\b", phrase)
    if flag and re.search(r"\d", phrase) and not re.search(r"deg", phrase):
        yield flag[0]
        phrase = " ".join((phrase[: flag.start()] + phrase[flag.end() :]).split())
    if phrase:
        yield phrase


def example(text: str, length_unit: str) -> str:
    """An example of what to type, its sizes in the shop's own units."""
    if length_unit == "in":
        for metric, inch in _IN_INCHES.items():
            text = text.replace(metric, inch)
    return text


def mended(phrase: str) -> tuple[str, str] | None:
    """What is missing of a phrase that cannot be read, and what to type; None where there is nothing more to say
    of it than that."""
    if against := _AGAINST.search(phrase):
        degrees = (360 - float(against[1].replace(",", "."))) % 360
        return "angles count from throw 1 in the direction of rotation", f"{degrees:g} deg, if it is against it"
    for pattern, missing, typed in _UNSAID:
        if re.fullmatch(pattern, phrase):
            return missing, typed
    return None
