"""Every caution, each once: what a screen, a card or a sheet says where work can hurt someone. Which of them stand
on it is decided there."""

from __future__ import annotations

MAKERS_FIRST = "The makers' limits, local codes and qualified practice come before any figure here."

# At the scale.
BENCH_CAUTION = (
    "Ring ends and fresh edges cut, and a rod that slips off its support falls on a foot: keep a hand on it until "
    "it rests."
)
# Where metal comes off a part; then on a page, where nobody types how it is recorded; then in one short line,
# right beside what is ground.
_WHERE = (
    "Grinding weakens a part that is ground in the wrong place: take metal only where its maker allows, never "
    "from beam, bolt seats or fillets. The maker's limits come first."
)
_GUARD = "Guard eyes, lungs and hands while grinding; weigh again after every cut."
TRIM_CAUTIONS = (
    _WHERE,
    f"{_GUARD} Record the cuts with truethrow ground, or take what a pad has given off what the job says it can "
    "give.",
)
TRIM_ON_A_PAGE = (_WHERE, _GUARD)
TRIM_SHORT = "Only where its maker allows. Guard eyes, lungs, hands."
# Before parts trade places, in one short line, right above what accepts it.
MARK_SHORT = "A cap stays with its rod. Mark both."
# At the grinder, with the scale beside it.
GRIND_CAUTION = (
    "Ground parts are hot and dusty: let them cool and wipe them before they go on the scale. Eyes and lungs "
    "guarded, fingers clear of the wheel."
)
# At the station: hanging, spinning, drilling, signing.
STACK_CAUTION = "Weigh each finished stack: a plate is what the scale says, not what is stamped on it."
SPIN_CAUTION = (
    "A spinning crank throws what is loose on it: bolts of the bobweights tight, guard shut, nobody in its plane."
)
MASS_CAUTION = (
    "A known mass leaves a spinning crank like a shot: bolt it through a tapped hole or a clamp made for it, "
    "never stick it on; guard shut, nobody in its plane. Take it off before the next spin. Local codes and "
    "qualified practice come first."
)
BARE_CAUTION = "A spinning crank throws what is loose on it: nothing left on it, guard shut, nobody in its plane."
DRILL_CAUTION = (
    "Drill only where the maker allows, clear of fillets and oil ways; eyes and lungs guarded against chips and "
    "dust."
)
MEMBER_CAUTION = (
    "A damper, a flexplate or a clutch cover that is drilled where or deeper than its maker allows, or turned "
    "faster, bursts: its maker's limits for holes and speed, local codes and qualified practice come first."
)
LIMIT_CAUTION = (
    "A crank that is drilled beyond its maker's limits can break at speed: nobody runs it before whoever is "
    "qualified has looked at it."
)
SLUG_CAUTION = (
    "Heavy metal leaves a bad bore like a shot: press it home, hold it mechanically, and let whoever is qualified "
    "judge the wall outside it."
)
SIGN_CAUTION = "Signed is what the station read and what these parts add; the makers' limits come first."
# On the station's sheet, too.
STATION_CAUTIONS = (
    "A spinning crank, drilling chips and heavy-metal dust hurt: guards shut, eyes and lungs protected, slugs "
    "and bobweights held so that they cannot leave at speed.",
    MAKERS_FIRST,
)
# With figures that are worked out, and with what is handed over.
_INERTIA = "Inertia only: no gas pressure, no bending of the crank, nothing that is on the mounts"
SHAKE_CAUTION = f"{_INERTIA}; the makers' limits for speed, rods and bolts come first."
# Beside the report's own, which has the makers' limits already.
INERTIA_CAUTION = f"{_INERTIA}."
QUOTE_CAUTION = (
    "A price for work as far as it is known, no promise that a part or a crank holds; nothing is ground, drilled "
    "or signed by it."
)
REPORT_CAUTION = (
    "A report of what was weighed and read, no promise of a life: the makers' limits for speed, rods, bolts and "
    "crank, local codes and qualified practice come first."
)
