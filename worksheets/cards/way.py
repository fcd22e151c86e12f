"""The way from the first spin to the last, on the report: vectors, figures, and what was done between."""

from __future__ import annotations

from truethrow.balance.base.amounts import ToldIn
from truethrow.balance.log.log import when
from truethrow.balance.station.balancing import PLANES, Balancing
from truethrow.worksheets.cards import station
from truethrow.worksheets.cards.card import (
    Block,
    CardTable,
    Cell,
    Chart,
    ChartLine,
    Lines,
    Picture,
    Side,
    without_empty,
)
from truethrow.worksheets.cards.figures import Figures
from truethrow.worksheets.words import card_words
from truethrow.worksheets.words import station_words as words

# Spins that a line is drawn through.
FEWEST = 2


def told(state: Balancing, figures: Figures) -> list[Block]:
    """Of a job that was spun at least once."""
    from truethrow.worksheets.drawn import spin_by_spin, spins  # noqa: PLC0415

    pictures = [
        Picture(f"spins-{plane}", spins.spins(state, plane, figures.show), f"All spins of the {plane} plane.")
        for plane in PLANES
    ]
    against = "Spin by spin, both planes against the tolerance."
    pictures.append(Picture("spin-by-spin", spin_by_spin.spin_by_spin(state, figures.show), against))
    legend = Lines((card_words.LEGEND,), is_small=True)
    beside = Side(tuple((one,) for one in pictures), (1, 1, 1))
    made: list[Block] = [beside, legend, _all_spins(state, figures)]
    if holes := _holes(state, figures):
        unit = figures.show.unbalance_unit
        heads = (
            "",
            "before spin",
            "in",
            "",
            "wide",
            "at: station",
            "crank",
            "deep",
            f"takes [{unit}]",
            f"brings [{unit}]",
        )
        made.append(CardTable("holes", *without_empty(heads, holes), "What was done to the crank", wide=2))
    return made


def typed(state: Balancing, told_in: ToldIn) -> tuple[str, list[str]]:
    """In which unit all spins were typed, empty where not all in one; and each as it was typed, without it."""
    units = {spin.typed.told(told_in).partition(" in ")[2] for spin in state.spins}
    in_unit = f" in {next(iter(units))}" if len(units) == 1 else ""
    return in_unit, [spin.typed.told(told_in).removesuffix(in_unit) for spin in state.spins]


def _all_spins(state: Balancing, figures: Figures) -> CardTable:
    rows: list[tuple[Cell, ...]] = []
    in_unit, as_typed = typed(state, figures.show.told_in)
    for at, spin in enumerate(state.spins):
        spun_at = f"{when(spin.record.at)} {spin.record.by}".strip()
        said = "; ".join(
            [as_typed[at], *(f"turned: {one.runs.told(figures.show.told_in)}" for one in spin.turned)]
        )
        number = figures.number("balancing", "spins", at, "number", places=0)
        if before := words.read_before(state, spin, figures.show.told_in):
            said = f"{said}; {before}"
        if spin.record.looked_over:
            said = f"{said}; looked over before"
        front, rear = (
            station.spin_row(
                figures,
                ("balancing", "spins", at, "planes", plane),
                plane,
                is_past=True,  # what is to be seen from afar is on the first page
            )
            for plane in PLANES
        )
        for cells in ((number, spun_at, *front), ("", said, *rear)):
            rows.append((*cells[:-2], cells[-1]))  # the tolerance stands in the drawings beside it
    unit = figures.show.unbalance_unit
    heads = ("spin", "when (UTC), typed", "plane", f"[{unit}]", "±", *station.HEAVY_AT, "±", "")
    caption = f"All spins, as typed{in_unit}"
    return CardTable("spins", heads, tuple(rows), caption, wide=1, chart=_spin_by_spin(state, figures))


def _spin_by_spin(state: Balancing, figures: Figures) -> Chart | None:
    """Both planes against their tolerance, from the first spin that was told to the last; None for one alone."""
    told = [at for at, spin in enumerate(state.spins) if spin.is_told]
    if len(told) < FEWEST:
        return None

    lines = []
    for plane in PLANES:
        paths = [("balancing", "spins", at, "planes", plane) for at in told]
        sure_gmm = [figures.value(*path, "uncertainty_gmm") for path in paths]
        read = tuple(
            figures.unbalance(*path, "unbalance_gmm", sure_gmm=sure, bare=True)
            for path, sure in zip(paths, sure_gmm, strict=True)
        )
        limit = figures.limit("balancing", "planes", plane, "tolerance_gmm", bare=True)
        lines += [ChartLine(plane, read), ChartLine(f"tolerance {plane}", (limit,) * len(told), is_limit=True)]
    numbers = tuple(figures.number("balancing", "spins", at, "number", places=0) for at in told)
    return Chart("Spin by spin", ChartLine("spin", numbers), tuple(lines), figures.show.unbalance_unit)


def _holes(state: Balancing, figures: Figures) -> tuple[tuple[Cell, ...], ...]:
    before: list[tuple[Cell, tuple[str | int, ...]]] = []
    for at, spin in enumerate(state.spins):
        number = figures.number("balancing", "spins", at, "number", places=0)
        path = ("balancing", "spins", at, "drilled_before")
        before += [(number, (*path, n)) for n in range(len(spin.drilled))]
    before += [("next", ("balancing", "drilled_since", n)) for n in range(len(state.since))]
    return tuple(
        (figures.number("holes", at, "number", places=0), spin, *_hole(figures, path))
        for at, (spin, path) in enumerate(before)
    )


def _hole(figures: Figures, path: tuple[str | int, ...]) -> tuple[Cell, ...]:
    found = figures.value(*path)
    path_of, sure = (*path, "removes_gmm"), station.SURE_GMM
    takes: tuple[Cell, Cell] = (figures.unbalance(*path_of, sure_gmm=sure, bare=True), "")
    if found["removes_gmm"] < 0:
        takes = ("", figures.brings(*path_of, sure_gmm=sure))
    wide: Cell = ""
    if found["diameter_mm"]:
        wide = (figures.length if found["kind"] == "slug" else figures.drill)(*path, "diameter_mm")
    return (
        found["member"],
        found["kind"],
        wide,
        *station.both(figures, path, places=1),
        figures.length(*path, "depth_mm", places=2),
        *takes,
    )
