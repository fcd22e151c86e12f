"""Slugs of the shop that fit nowhere, and the stock size that would: a little narrower, or shorter."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from typing import Literal, NamedTuple

from truethrow.balance.correction import room
from truethrow.balance.correction.walls import TOUCH_MM
from truethrow.balance.crank.crank import Crank, Member
from truethrow.balance.crank.holes import Slug, Tools

# Stock comes, and is cut off, in such steps: in inches where the slug's own size is. Common practice, no source.
INCH_STEP_MM, STEP_MM = 0.05 * 25.4, 0.5
# None is looked for below this part of a slug's diameter or length: it would bring next to nothing.
LEAST = 0.4


class Misfit(NamedTuple):
    """A slug that fits in no counterweight. member: the one that is short of least; why: too long for its
    thickness, too wide between rim and inner radius, or no room along its arc; by_mm: how much of it (0 where that
    is no one figure); fits: the largest stock size that does fit there, or in another one, None for none; fits_in:
    where; is_enough: whether a plan with it brings both planes inside."""

    slug: Slug
    member: str
    why: Literal["long", "wide", "arc"]
    by_mm: float
    fits: Slug | None
    fits_in: str = ""
    is_enough: bool = False


def misfits(crank: Crank, tools: Tools) -> list[Misfit]:
    """Every slug that fits in no counterweight whose face can be bored, with the size that would."""
    bored = [member for member in crank.members if member.bore and not member.external]
    if not bored:
        return []
    found = []
    for slug in tools.slugs:
        if not room.slug_places(crank, tools._replace(slugs=(slug,))):
            short = min((_short(crank, member, slug) for member in bored), key=lambda one: one[2])
            fits = next(_that_fit(crank, bored, slug), None)
            found.append(Misfit(slug, *short, *(fits or (None, ""))))
    return found


def _short(crank: Crank, member: Member, slug: Slug) -> tuple[str, Literal["long", "wide", "arc"], float]:
    long_mm = max(0.0, slug.length_mm - _longest_mm(crank, member, slug))
    wide_mm = max(0.0, slug.diameter_mm - (member.outer_mm - crank.wall_mm - member.inner_mm))
    if long_mm > TOUCH_MM and long_mm >= wide_mm:
        return member.name, "long", long_mm
    return (member.name, "wide", wide_mm) if wide_mm > TOUCH_MM else (member.name, "arc", 0.0)


def _longest_mm(crank: Crank, member: Member, slug: Slug) -> float:
    """The longest, no longer than this one, that sits right through or keeps a wall behind it."""
    if abs(slug.length_mm - member.thickness_mm) <= TOUCH_MM:
        return min(slug.length_mm, member.deepest_axial_mm)
    if slug.length_mm > member.thickness_mm:
        return min(member.thickness_mm, member.deepest_axial_mm)
    return min(slug.length_mm, member.thickness_mm - crank.wall_mm, member.deepest_axial_mm)


def _that_fit(crank: Crank, bored: Sequence[Member], slug: Slug) -> Iterator[tuple[Slug, str]]:
    """Stock sizes no larger than a slug, the heaviest first, each with the counterweight that it fits in."""
    sizes = itertools.product(_stock_mm(slug.diameter_mm), _lengths_mm(bored, slug.length_mm))
    for diameter_mm, length_mm in sorted(sizes, key=lambda one: -(one[0] ** 2 * one[1])):
        other = Slug(diameter_mm, length_mm, slug.density_class)
        for place in room.slug_places(crank, Tools(drills=(), slugs=(other,))):
            yield other, place.member.name


def _stock_mm(size_mm: float) -> list[float]:
    """This size and the stock sizes below it."""
    in_inches = abs(size_mm / INCH_STEP_MM - round(size_mm / INCH_STEP_MM)) < 1e-3
    step_mm = INCH_STEP_MM if in_inches else STEP_MM
    most, least = math.floor(size_mm / step_mm + 1e-6), math.ceil(LEAST * size_mm / step_mm)
    stock = [round(n * step_mm, 6) for n in range(most, least - 1, -1)]
    return [size_mm, *(one for one in stock if one < size_mm - TOUCH_MM)]


def _lengths_mm(bored: Sequence[Member], length_mm: float) -> list[float]:
    """Stock lengths, and that of a bore right through."""
    through = {member.thickness_mm for member in bored if LEAST * length_mm <= member.thickness_mm < length_mm}
    return sorted({*_stock_mm(length_mm), *through}, reverse=True)
