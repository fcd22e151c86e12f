"""What a bench profile remembers of its scale: how far loads scatter, from job to job, so that nobody weighs parts
twice for ever.

A session finds what its own second weighings say; a yes at its end, or a command, puts that into the profile,
pooled with what is there. One slip does not spoil it: a part whose weighings are farther apart than all that is
known explains is left out. What is oldest fades, so that a scale that was repaired, or wears, is known as it is.
"""

from __future__ import annotations

import datetime
import math
from collections.abc import Mapping
from typing import Any, NamedTuple

from truethrow.balance.base.errors import BadInput, Fault
from truethrow.balance.base.parts import WAYS, Way, way_of
from truethrow.balance.base.quantiles import f_quantile
from truethrow.balance.base.readings import Reading, allowed_range_g, certainty
from truethrow.balance.base.scatter import OUTLYING, Scatter
from truethrow.balance.weighing.session import Session
from truethrow.balance.weighing.standing import reading_of

# No more second weighings than these count; of what was known before, the rest fades: common practice, no source.
MOST_FREEDOM = 60
# Of a scale that nobody knows, weighings of one part that are so many times as far apart as they may be are a
# slip: common practice, no source.
NEVER = 5.0
# So many sessions are named in a profile, so that none is counted twice.
SESSIONS = 20
# How a way of weighing is called in a file.
KEYS: dict[Way, str] = {"pan": "repeatability", "support": "rod_end_repeatability"}


class Found(NamedTuple):
    """What a session found of its scale by its own second weighings. session: which one; left_out: the parts whose
    weighings are too far apart to say anything of that."""

    session: str
    scatter: Mapping[Way, Scatter]
    left_out: tuple[Reading, ...]


def found(session: Session) -> Found:
    """What a session's own second weighings say, by way of weighing: what others weighed is theirs to tell."""
    taken = [
        reading_of(cylinder, kind, tuple(record.grams for record in records if session.took(record)))
        for (cylinder, kind), records in session.now.readings.items()
    ]
    twice = [reading for reading in taken if len(reading.repeats_g) > 1]
    out = [reading for reading in twice if _is_no_part(reading, session)]
    bare = session.job.scale._replace(repeatability_g=None, rod_end_repeatability_g=None)
    sure = certainty(bare, (reading for reading in twice if reading not in out))
    scatter = {way: one for way in WAYS if (one := sure.scatter_on(way)).known == "repeats"}
    return Found(session.key, scatter, (*out, *sure.outlying))


def _is_no_part(reading: Reading, session: Session) -> bool:
    """Whether the weighings of a part are farther apart than what is known of the scale explains once in a hundred
    times (F, the quotient of two variances); where nothing is, than a scale scatters at all."""
    known = session.job.remembered.get(way_of(reading.kind))
    if known is None or known.standard_g == 0:
        apart_g = max(reading.repeats_g) - min(reading.repeats_g)
        return apart_g > NEVER * allowed_range_g(len(reading.repeats_g), session.job.scale, reading.kind)
    own = len(reading.repeats_g) - 1
    mean = math.fsum(reading.repeats_g) / len(reading.repeats_g)
    variance = math.fsum((grams - mean) ** 2 for grams in reading.repeats_g) / own
    least = max(known.standard_g, session.job.scale.resolution_g / math.sqrt(12))
    return variance > least**2 * f_quantile(1 - OUTLYING, own, min(known.freedom, 1e6))


def pooled(known: Scatter | None, new: Scatter) -> Scatter:
    """Two estimates of one scatter as one (JCGM 100:2008, H.3.6), the one before fading beyond MOST_FREEDOM; what
    is taken as well known stays as it is."""
    if known is None:
        return new
    if math.isinf(known.freedom):
        return known
    kept = min(known.freedom, max(0.0, MOST_FREEDOM - new.freedom))
    freedom = kept + new.freedom
    squares = (kept * known.standard_g**2, new.freedom * new.standard_g**2)
    return Scatter(math.sqrt(math.fsum(squares) / freedom), freedom, "repeats")


def remembered_in(text: str, known: Mapping[Way, Scatter], new: Found, day: datetime.date, source: str) -> str:
    """A profile's text with what a session found, pooled with what it says; its comments stay. known: what it
    says. Raises BadInput for a session that it has already."""
    import tomlkit  # noqa: PLC0415 (only a command that writes needs it)

    document: Any = tomlkit.parse(text)
    if "bench" not in document:
        document["bench"] = tomlkit.table()
    bench = document["bench"]
    before = list(bench.get("repeatability_of", []))
    if new.session in before:
        raise BadInput([Fault(new.session, "what this session found is remembered already")], source)
    for way, scatter in new.scatter.items():
        both = pooled(known.get(way), scatter)
        if math.isinf(both.freedom):
            continue
        bench[KEYS[way]] = f"{both.standard_g:.4g} g"
        bench[f"{KEYS[way]}_from"] = round(both.freedom)
    bench["repeatability_on"] = day
    bench["repeatability_of"] = [*before, new.session][-SESSIONS:]
    return tomlkit.dumps(document)


def for_the_job(session: Session) -> Mapping[Way, Scatter]:
    """What the profile knows that the job's [scale] does not say."""
    scale = session.job.scale
    declared = {"pan": scale.repeatability_g, "support": scale.rod_end_repeatability_g}
    return {way: scatter for way, scatter in session.job.remembered.items() if declared[way] is None}
