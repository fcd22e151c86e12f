"""What the engine shakes at its top speed, on the report: curves, peaks with how sure they are, and what another
share would do."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from truethrow.balance.base.amounts import Amount
from truethrow.balance.base.told import rounded
from truethrow.worksheets.cards.card import Block, Lines, Picture, Side
from truethrow.worksheets.cards.figures import Figures
from truethrow.worksheets.data import physics_data
from truethrow.worksheets.shown.display import Display
from truethrow.worksheets.words import card_words, physics_words

if TYPE_CHECKING:
    from truethrow.balance.engine.share import Shares
    from truethrow.balance.running.running import Shake
    from truethrow.worksheets.cards.known import Known

ALONE = ("speed_rpm", "vertical_n", "vertical_uncertainty_n", "horizontal_n", "horizontal_uncertainty_n")
PEAKS = {"force": ("peak_n", "uncertainty_n"), "couple": ("peak_nm", "uncertainty_nm")}
SHARE_PLACES = 3


def data(shake: Shake) -> dict[str, Any]:
    """What a report tells of it. Of what sums up to nothing the angle is rounding, another on each machine: it
    would make a report look old."""
    found = physics_data.shake(shake)
    both = {name: {key: found[name][key] for key in keys} for name, keys in PEAKS.items()}
    mounts = [
        {key: mount[key] for key in ("plane", "z_mm", "peak_n", "uncertainty_n")} for mount in found["mounts"]
    ]
    return {key: found[key] for key in ALONE} | both | {"mounts": mounts}


def share_data(known: Known) -> dict[str, Any] | None:
    """The best share for what counts on this engine, from and to where it makes no difference; and the
    bobweights'. None where no share does anything."""
    if known.shares is None or known.shares.aim is None or known.result is None:
        return None
    best = next(one for one in known.shares.optima if one.aim == known.shares.aim)
    assert best.share is not None
    low, high = (round(best.share + side * best.width, 6) for side in (-1, 1))
    is_hung = known.result.bobweights.rule != "none"
    own = known.result.job.share if is_hung else None
    return {"aim": best.aim, "best_from": low, "best_to": high, "own": own}


def told(found: Shake | None, shares: Shares | None, figures: Figures) -> list[Block]:
    """The curves over one turn and over the share, and the peaks. found: None where the top speed is not known."""
    if found is None:
        return [Lines((card_words.NO_SPEED,))]
    show = figures.show
    speed = figures.number("shake", "speed_rpm", unit="r/min").text
    force, couple = (show.force_unit, show.per_newton), (show.couple_unit, show.per_newton_metre)
    peaks = [
        ("largest force", *_peak(figures, ("shake", "force"), "peak_n", "uncertainty_n", force)),
        ("vertical", *_peak(figures, ("shake",), "vertical_n", "vertical_uncertainty_n", force)),
        ("horizontal", *_peak(figures, ("shake",), "horizontal_n", "horizontal_uncertainty_n", force)),
        ("largest couple", *_peak(figures, ("shake", "couple"), "peak_nm", "uncertainty_nm", couple)),
    ]
    for at, mount in enumerate(found.mounts):
        name = f"on the {mount.plane} mount"
        peaks.append((name, *_peak(figures, ("shake", "mounts", at), "peak_n", "uncertainty_n", force)))
    told = "; ".join(f"{name} {most}{f' ± {sure}' if sure else ''}" for name, most, sure in peaks)
    drawn = [*_turns(found, speed, show), *_share(shares, figures)]
    missing = ((),) * (3 - len(drawn))
    return [
        Lines((f"What shakes at {speed}, over one turn of the crank: {told}.",), is_small=True),
        Side((*((one,) for one in drawn), *missing), (1, 1, 1)),
    ]


def _turns(found: Shake, speed: str, show: Display) -> list[Picture]:
    """The force over one turn; the couple beside it, if there is one."""
    from truethrow.worksheets.drawn.turn import over_a_turn  # noqa: PLC0415 (as all drawings, only where one is)

    both = (
        ("force", show.force_unit, show.per_newton, found.curve.force_n, found.force.amount),
        ("couple", show.couple_unit, show.per_newton_metre, found.curve.couple_nm, found.couple.amount),
    )
    made = []
    for name, unit, one, vectors, most in both:
        is_there = most > physics_words.NOTHING
        if name == "couple" and not is_there:
            continue
        drawn = over_a_turn(name, unit, [*(vectors * one)], most * one if is_there else 0.0)
        made.append(Picture(f"shaking-{name}", drawn, f"The shaking {name} over one turn at {speed}."))
    return made


def _share(found: Shares | None, figures: Figures) -> list[Picture]:
    """What counts on this engine against the share; none where no share does anything."""
    told = figures.value("share")
    if found is None or told is None:
        return []
    from truethrow.worksheets.drawn.share_curve import share_curve  # noqa: PLC0415

    show, optimum = figures.show, next(one for one in found.optima if one.aim == told["aim"])
    is_couple = optimum.aim == "couple"
    unit, one = (show.couple_unit, show.per_newton_metre) if is_couple else (show.force_unit, show.per_newton)
    peaks = found.peaks[optimum.aim]
    curve = [(float(share), float(most) * one) for share, most in zip(found.shares, peaks, strict=True)]
    low, high, own = (told[key] for key in ("best_from", "best_to", "own"))
    best = " to ".join(dict.fromkeys(rounded(share, SHARE_PLACES) for share in (low, high)))
    drawn = share_curve(
        physics_words.AIM_WORDS[optimum.aim],
        unit,
        curve,
        ((low + high) / 2, optimum.least * one, best),
        None if own is None else (own, rounded(own, SHARE_PLACES)),
    )
    said = f"The {physics_words.AIM_WORDS[optimum.aim]} against the share of the reciprocating mass."
    return [Picture("share", drawn, said)]


def _peak(
    figures: Figures, path: tuple[str | int, ...], most: str, sure: str, shown: tuple[str, float]
) -> tuple[str, str]:
    """A peak and how sure it is, to two digits of the latter; what is only rounding is told as nothing. shown: the
    unit, and how many of it one of the data's is."""
    peak, expanded = (figures.value(*path, name) for name in (most, sure))
    if peak < physics_words.NOTHING:
        return "none", ""
    unit, one = shown
    places = physics_words.peak_places(expanded * one)
    return str(Amount(peak * one, places, unit)), str(Amount(expanded * one, places, unit))
