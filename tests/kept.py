"""Records as they are kept, for tests that write them by hand: the station's, and any at all."""

from __future__ import annotations

from hypothesis import strategies as st

from truethrow.balance.log.chain import Chain
from truethrow.balance.log.lines import link_of, record_in
from truethrow.balance.log.readinglog import ReadingLog
from truethrow.balance.log.records import (
    Acknowledged,
    Aimed,
    Built,
    Confirmed,
    CrankSaid,
    Cut,
    Drilled,
    Left,
    LookedAt,
    MassHung,
    Metal,
    ProfileEdited,
    Proposed,
    ReadBy,
    Record,
    ReferenceRead,
    Run,
    SignedOff,
    Skipped,
    Spun,
    Struck,
    Traded,
    Weighed,
    WentUnproved,
    ZeroRead,
)

READ_BY = ReadBy("g", 100.0, True, 0.0, 0.02, 2.0, 30.0, 0.0, 336.0, "00000000", "7baac9bd")
_TERMS = (20.0, 30.0, 0.0, 0.0, 1.0, 0.0)
LEFT = (Left("front", 20.0, 30.0, 0.0, 100.0, *_TERMS), Left("rear", 20.0, 30.0, 0.0, 100.0, *_TERMS))


def runs(*readings: str) -> tuple[Run, ...]:
    """Runs of readings such as 12.4@37, front and rear in turn."""
    pairs = [tuple(reading.split("@")) for reading in readings]
    return tuple(Run(*front, *rear) for front, rear in zip(pairs[::2], pairs[1::2], strict=True))


def spun(digest: str, *readings: str, read_by: ReadBy = READ_BY, turned: str = "", **head: str) -> Spun:
    return Spun(digest, runs(*readings), read_by, turned, **head)


def hung(
    spin: str, *readings: str, mass_g=50.0, angle_deg=90.0, plane="front", read_by=READ_BY, typed=""
) -> MassHung:
    return MassHung(plane, mass_g, 100.0, angle_deg, runs(*readings), read_by, spin, typed)


def drilled(spin: str, kind: str = "radial", depth_mm: float = 20.0, plan: str = "") -> Drilled:
    return Drilled(kind, "1 front", 90.0, 79.0, 10.0, 12.7, depth_mm, 500.0, 7.0, 118.0, 0.0, spin, plan)


def signed(*spins: str, holes: tuple[str, ...] = (), proof: str = "m-1", read_by=READ_BY) -> SignedOff:
    return SignedOff(spins, holes, LEFT, read_by, proof)


def edited(read_by: ReadBy, was: ReadBy = READ_BY, wrong_since: str = "", **head: str) -> ProfileEdited:
    return ProfileEdited(was, read_by, wrong_since, **head)


FIGURES = (
    *("angle_deg", "radius_mm", "z_mm", "diameter_mm", "depth_mm"),
    *("removes_gmm", "mass_g", "point_deg", "arc_deg"),
)
MOVES = ({"rod": {1: 2, 2: 1}}, {"piston": {3: 5, 5: 7, 7: 3}, "pin": {1: 9, 9: 1}})
AMOUNTS = ("12.40", "0", ".5", "-3", "360")


def written(*records: Record, job: str = "launch-7", kept: str = "file") -> bytes:
    """The log of a job in a file, as its bytes: these records, whatever their heads say."""
    chain, lines = Chain(), []
    for record in records:
        for raw in chain.sealed(record, lambda: job, kept):
            found = record_in(raw)
            chain.take(found, link_of(raw))
            lines.append(raw + b"\n")
    return b"".join(lines)


def put_behind(path, *records: Record) -> None:
    """Records written behind a log in a file, whatever they say: no bench would."""
    for record in records:
        with path.open("ab") as file:
            for raw in ReadingLog(path).chain.sealed(record, lambda: "launch-7", "file"):
                file.write(raw + b"\n")


def any_record(
    texts: st.SearchStrategy[str], numbers: st.SearchStrategy[float], **head: st.SearchStrategy[str]
) -> st.SearchStrategy[Record]:
    """Every kind of record with whatever it may say that makes sense of it. head: what its head says."""
    words, cylinders = texts.filter(bool), st.integers(1, 99)
    amounts, moves, ids = st.sampled_from(AMOUNTS), st.sampled_from(MOVES), st.lists(words, max_size=3).map(tuple)
    some_runs = st.lists(st.builds(Run, amounts, amounts, amounts, amounts), min_size=1, max_size=3).map(tuple)
    sure = [numbers] * 4
    read_by = st.builds(ReadBy, texts, st.none() | numbers, st.booleans(), *sure, numbers, numbers, texts, texts)
    left = st.lists(st.builds(Left, words, *[numbers] * (len(Left._fields) - 1)), max_size=2).map(tuple)
    floats = st.lists(numbers, max_size=2).map(tuple)
    metal = st.lists(st.builds(Metal, texts, texts, numbers), max_size=2).map(tuple)
    plan = {"plan": texts, "step": st.integers(0, 30), "batch": texts}
    head = {"why": texts} | head
    return st.one_of(
        st.builds(Weighed, st.integers(0, 99), words, numbers, typed=texts, **head),
        st.builds(Confirmed, st.integers(0, 99), words, numbers, typed=texts, batch=texts, **head),
        st.builds(Struck, words, **head),
        st.builds(Skipped, cylinders, words, **head),
        st.builds(ZeroRead, texts, numbers, texts, **head),
        st.builds(ReferenceRead, texts, numbers, texts, **head),
        st.builds(Proposed, moves, words, **head),
        st.builds(Traded, moves, words, **head),
        st.builds(Cut, cylinders, st.sampled_from(["piston", "big_end"]), st.just(0.5), **plan, **head),
        st.builds(
            Spun,
            words,
            some_runs,
            read_by,
            texts,
            texts,
            numbers,
            texts,
            floats,
            floats,
            looked_over=st.booleans(),
            metal=metal,
            **head,
        ),
        st.builds(
            Drilled,
            kind=words,
            member=words,
            spin=texts,
            before=texts,
            **dict.fromkeys(FIGURES, numbers),
            **plan,
            **head,
        ),
        st.builds(
            *(MassHung, texts, numbers, numbers, numbers, some_runs, read_by, words, texts, texts),
            *([numbers] * 4),
            **head,
        ),
        st.builds(WentUnproved, st.sampled_from(["holes", "sign"]), words, read_by, **head),
        st.builds(
            *(SignedOff, st.lists(words, min_size=1, max_size=3).map(tuple), ids, left, read_by, words),
            built=ids,
            aim=texts,
            **head,
        ),
        st.builds(Built, words, st.just(1866.4), numbers, texts, texts, texts, **head),
        st.builds(Aimed, st.sampled_from(["spin", "sum"]), words, **head),
        st.builds(ProfileEdited, read_by, read_by, texts, **head).filter(lambda one: not one.wrong()),
        st.builds(LookedAt, words, **head),
        st.builds(CrankSaid, words, **head),
        st.builds(Acknowledged, words, words, st.integers(1, 9), **head),
    )
