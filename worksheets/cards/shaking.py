"""What the engine shakes at its top speed, on the report: curves, and peaks with how sure they are."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from truethrow.worksheets.cards.card import Block, Lines, Picture
from truethrow.worksheets.cards.figures import Figures
from truethrow.worksheets.data import physics_data
from truethrow.worksheets.shown.display import Amount
from truethrow.worksheets.words import card_words, physics_words

if TYPE_CHECKING:
    from truethrow.balance.running.running import Shake

ALONE = ("speed_rpm", "vertical_n", "vertical_uncertainty_n", "horizontal_n", "horizontal_uncertainty_n")
PEAKS = {"force": ("peak_n", "uncertainty_n"), "couple": ("peak_nm", "uncertainty_nm")}


def data(shake: Shake) -> dict[str, Any]:
    """What a report tells of it. Of what sums up to nothing the angle is rounding, another on each machine: it
    would make a report look old."""
    found = physics_data.shake(shake)
    both = {name: {key: found[name][key] for key in keys} for name, keys in PEAKS.items()}
    mounts = [
        {key: mount[key] for key in ("plane", "z_mm", "peak_n", "uncertainty_n")} for mount in found["mounts"]
    ]
    return {key: found[key] for key in ALONE} | both | {"mounts": mounts}


def told(found: Shake | None, figures: Figures) -> list[Block]:
    """The curves over one turn, and the peaks. found: None where the top speed is not known."""
    if found is None:
        return [Lines((card_words.NO_SPEED,))]
    from truethrow.worksheets.drawn import turn  # noqa: PLC0415

    speed = figures.number("shake", "speed_rpm", unit="r/min").text
    said = f"The shaking force, and the couple if there is one, over one turn at {speed}."
    peaks = [
        ("largest force", *_peak(figures, ("shake", "force"), "peak_n", "uncertainty_n", "N")),
        ("vertical", *_peak(figures, ("shake",), "vertical_n", "vertical_uncertainty_n", "N")),
        ("horizontal", *_peak(figures, ("shake",), "horizontal_n", "horizontal_uncertainty_n", "N")),
        ("largest couple", *_peak(figures, ("shake", "couple"), "peak_nm", "uncertainty_nm", "N·m")),
    ]
    for at, mount in enumerate(found.mounts):
        name = f"on the {mount.plane} mount"
        peaks.append((name, *_peak(figures, ("shake", "mounts", at), "peak_n", "uncertainty_n", "N")))
    told = "; ".join(f"{name} {most}{f' ± {sure}' if sure else ''}" for name, most, sure in peaks)
    return [Lines((f"What shakes at {speed}: {told}.",)), Picture("shaking", turn.over_a_turn(found), said)]


def _peak(figures: Figures, path: tuple[str | int, ...], most: str, sure: str, unit: str) -> tuple[str, str]:
    """A peak and how sure it is, to two digits of the latter; what is only rounding is told as nothing."""
    peak, expanded = (figures.value(*path, name) for name in (most, sure))
    if peak < physics_words.NOTHING:
        return "none", ""
    places = physics_words.peak_places(expanded)
    return str(Amount(peak, places, unit)), str(Amount(expanded, places, unit))
