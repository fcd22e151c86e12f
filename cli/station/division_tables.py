"""A station that reads divisions on the screen: what its trial masses told, and what comes next."""

from __future__ import annotations

from typing import TYPE_CHECKING

from truethrow.balance.base.amounts import Amount
from truethrow.balance.base.digits import digits
from truethrow.balance.station.balancing import PLANES, Balancing
from truethrow.balance.station.may_go import withheld
from truethrow.balance.station.next_steps import masses_to_hang
from truethrow.worksheets.words import division_words as own_words
from truethrow.worksheets.words import result_words
from truethrow.worksheets.words import station_words as words
from truethrow.worksheets.words.cautions import MASS_CAUTION, SPIN_CAUTION

if TYPE_CHECKING:
    from truethrow.cli.show import Screen
    from truethrow.worksheets.shown.display import Display


def calibration(out: Screen, state: Balancing, show: Display) -> None:
    """What is known of the station by its trial masses."""
    found = state.calibration
    moves, rows = (Amount(1, 0, show.unbalance_unit) if show.inch else Amount(1000, 0, show.unbalance_unit)), []
    moves_gmm = moves.number * show.told_in.unbalance_gmm
    for plane, (test, trial) in found.singles.items():
        own = (f"{digits(moves_gmm * abs(one), 4)}" for one in trial.moved)
        sure = trial.sure_part(PLANES.index(plane))
        hung = f"{show.told_in.given(test.mass.mass_g)} at {test.mass.angle_deg:g}°"
        rows.append([plane, hung, *own, f"{100 * sure:.1f} %"])
    if rows:
        out.line(f"Trial masses: what {moves} move, in divisions", strong=True)
        out.table(["on", "mass", "front", "rear", "± of its own plane"], rows, words=("on", "mass"))
    if found.fourth is not None:
        told = found.fourth.foretold
        rows = [
            [plane, *(own_words.polar(two[at]) for two in (told.reads, told.mirrored, told.read)), f"{sure:.2f}"]
            for at, (plane, sure) in enumerate(zip(PLANES, told.expanded, strict=True))
        ]
        out.line("Both at once, in divisions", strong=True)
        out.table(["plane", "foretold", "if it counts the other way", "read", "±"], rows, words=("plane",))
        out.line(f"{own_words.ENDED[found.fourth.ended]}.", strong=True)
    out.line(own_words.TAKE_OFF, strong=True)
    if kept := own_words.kept(state):
        out.line(f"{kept}.")
    next_trial(out, state, show)
    out.line(f"! {SPIN_CAUTION}")


def next_trial(out: Screen, state: Balancing, show: Display) -> None:
    """What holds everything back, and what to hang next."""
    for reason in withheld(state):
        out.line(f"! {result_words.sentence(reason.said(show.told_in))}", strong=True)
    if not state.is_proved:
        out.line(f"Hang {words.of_masses(masses_to_hang(state), words.speed_of(state), show, state.instrument)}.")
        out.line(f"! {MASS_CAUTION}")
