"""The way from the first spin to the last, on the report: vectors, figures, and what was done between."""

from __future__ import annotations

from truethrow.balance.log.log import when
from truethrow.balance.station.balancing import PLANES, Balancing
from truethrow.worksheets.cards import station
from truethrow.worksheets.cards.card import Block, CardTable, Cell, Lines, Picture, Side, without_empty
from truethrow.worksheets.cards.figures import Figures
from truethrow.worksheets.words import card_words
from truethrow.worksheets.words import station_words as words


def told(state: Balancing, figures: Figures) -> list[Block]:
    """Of a job that was spun at least once."""
    from truethrow.worksheets.drawn import spin_by_spin, spins  # noqa: PLC0415

    pictures = [
        Picture(f"spins-{plane}", spins.spins(state, plane, figures.show), f"All spins of the {plane} plane.")
        for plane in PLANES
    ]
    against = "Spin by spin, both planes against the tolerance."
    pictures.append(Picture("spin-by-spin", spin_by_spin.spin_by_spin(state, figures.show), against))
    legend = Lines((card_words.LEGEND,))
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


def typed(state: Balancing) -> tuple[str, list[str]]:
    """In which unit all spins were typed, empty where not all in one; and each as it was typed, without it."""
    units = {str(spin.typed).partition(" in ")[2] for spin in state.spins}
    in_unit = f" in {next(iter(units))}" if len(units) == 1 else ""
    return in_unit, [str(spin.typed).removesuffix(in_unit) for spin in state.spins]


def _all_spins(state: Balancing, figures: Figures) -> CardTable:
    rows: list[tuple[Cell, ...]] = []
    in_unit, as_typed = typed(state)
    for at, spin in enumerate(state.spins):
        spun_at = f"{when(spin.record.at)} {spin.record.by}".strip()
        said = "; ".join([as_typed[at], *(f"turned: {one.runs}" for one in spin.turned)])
        number = figures.number("balancing", "spins", at, "number", places=0)
        if before := words.read_before(state, spin):
            said = f"{said}; {before}"
        if spin.record.looked_over:
            said = f"{said}; looked over before"
        front, rear = (
            station.spin_row(
                figures,
                ("balancing", "spins", at, "planes", plane),
                plane,
                is_past=spin is not state.last or state.for_these_parts is not None,
            )
            for plane in PLANES
        )
        for cells in ((number, spun_at, *front), ("", said, *rear)):
            rows.append((*cells[:-2], cells[-1]))  # the tolerance stands in the drawings beside it
    unit = figures.show.unbalance_unit
    heads = ("spin", "when (UTC), typed", "plane", f"[{unit}]", "±", *station.HEAVY_AT, "±", "")
    return CardTable("spins", heads, tuple(rows), f"All spins, as typed{in_unit}", wide=1)


def _holes(state: Balancing, figures: Figures) -> tuple[tuple[Cell, ...], ...]:
    before: list[tuple[Cell, tuple[str | int, ...]]] = []
    for at, spin in enumerate(state.spins):
        number = figures.number("balancing", "spins", at, "number", places=0)
        path = ("balancing", "spins", at, "drilled_before")
        before += [(number, (*path, n)) for n in range(len(spin.drilled))]
    before += [("not spun since", ("balancing", "drilled_since", n)) for n in range(len(state.since))]
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
