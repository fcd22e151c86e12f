"""A printed line worked out again from its text alone, as a hand with a calculator does it."""

import math
import re
from decimal import Decimal, getcontext

getcontext().prec = 50
FIGURE = re.compile(r"\d+(?:\.\d+)?…?")
SIGNS = (("×", "*"), ("−", "-"), ("²", "**2"), ("³", "**3"), ("√", "root "))


def is_sum(line):
    """Whether a line says how it is worked, in figures alone."""
    return bool(line.by) and "nearest step" not in line.by and "angle" not in line.by


def by_hand(expression, figures):
    """What it comes to with these figures in the place of those that are written."""
    given = iter(figures)
    text = FIGURE.sub(lambda _: f"D('{next(given)}')", expression)
    text = re.sub(r"(?<=\))\s*π", " * pi", text)
    for written, means in (*SIGNS, ("π", "pi")):
        text = text.replace(written, means)
    text = re.sub(r"root (D\('[^']*'\))", r"root(\1)", text)
    return eval(text, {"D": Decimal, "root": Decimal.sqrt, "pi": Decimal(repr(math.pi))})


def unit_of(figure):
    """What its last digit may leave out, nothing of one that is written whole."""
    if not figure.endswith("…"):
        return Decimal(0)
    return Decimal(1).scaleb(-len(figure.rstrip("…").partition(".")[2]))


def off_by(line):
    """How far the right side of a printed line is from what its left side gives, in its last digit; of a whole
    one any difference is too far."""
    text = str(line).partition("   [")[0]
    *_, expression, answer = text.split(" = ")
    printed = re.match(r"−?" + FIGURE.pattern, answer)[0]
    made = by_hand(expression, [one.rstrip("…") for one in FIGURE.findall(expression)])
    off = abs(made - Decimal(printed.rstrip("…").replace("−", "-")))
    whole = Decimal("Infinity") if off > Decimal("1e-9") else Decimal(0)
    return off / unit_of(printed) if unit_of(printed) else whole


def adds_up(line):
    """Whether the right side of a printed line is what its left side gives."""
    text = str(line).partition("   [")[0]
    *_, expression, answer = text.split(" = ")
    printed = re.match(r"−?" + FIGURE.pattern, answer)[0]
    written = FIGURE.findall(expression)
    plain = [Decimal(one.rstrip("…")) for one in written]
    made = by_hand(expression, plain)
    room = unit_of(printed)
    for at, one in enumerate(written):
        moved = [*plain[:at], plain[at] + unit_of(one), *plain[at + 1 :]]
        room += abs(by_hand(expression, moved) - made)
    value = Decimal(printed.rstrip("…").replace("−", "-"))
    return abs(made - value) <= room + Decimal("1e-9") if room else made == value
