"""What cards say that does not change: titles, how a thing is done, what is missing. A section a card."""

from __future__ import annotations

from truethrow.worksheets.words import station_words

# Why a card cannot be made yet.
NO_PROFILE = "the balancing station's profile was not given (--station)"
LOOK_AGAIN_FIRST = "look at these readings again first: {parts} (truethrow trim {job} says how)"
NO_PARTS = "no part was weighed, so there is none to trim"
NO_PLANES = "nobody says where the planes are: front_plane and rear_plane in [station] of the job"
STILL_TO_WEIGH = "{parts} still to be weighed"

# The bench card.
BENCH_TITLE = "What to weigh, and what it weighs"
IN_ORDER = "In this order, cylinders as they come"
ALL_WEIGHED = "All is weighed; scale step {step}."
CLEAN = "Clean, dry, free of oil; zero before each load; write down what the scale shows, not what it should."
RODS = (
    "Rod level, beam straight: one end on the scale, the other on the fixed support; no side load, nothing "
    "touches.",
    "Big end first: big end on the scale, small end on the support. Then turn the rod round.",
)
WITHOUT_SHELLS = "Cap on, bolts and nuts with it, bearing shells out: they are weighed by themselves."
BY_END = "All big ends with the fixture as it is set, then all small ends in the opposite order."
BY_ROD = "Rod by rod: both ends of one before the next."
AGAIN = "Ground since it was weighed, so no reading of it counts: "

# The trim card.
TRIM_TITLE = "What to take off, and where"
ORDER = ("first", "second")  # of the cuts on one part
PLANNED = "{grams} off {count} {parts}, plan {plan}"
NO_LIMITS = "The job sets no limit to any spread, so there is nothing to trim to."
NO_CUT = "No cut would bring the set nearer to its limits by enough to be worth the metal."
RECORD = "Once it is ground: truethrow ground {job}. Then weigh these parts again."
STANDS = "This plan holds until all that was cut is weighed again; what is ticked is recorded as ground."
ALL_RECORDED = "Every cut of it is recorded: nothing more is to be ground."

# The bobweight card.
BOBWEIGHT_TITLE = "What to hang on each throw"

# The station card, and its plan.
STATION_TITLE = "What hangs, where to drill, what it should read"
NO_INSTRUMENT = "The profile has no [spin], so no reading of this station can be understood."
NO_LIMIT = (
    "The job has no tolerance: give [station] a limit, or a grade with crank_mass and the engine's top speed."
)
NO_CRANK = f"{station_words.NO_CRANK}: what is read tells where the crank is heavy, no more."
HOW = {"radial": "rim", "axial": "face", "slug": "slug", "grind": "grind", "took": "took", "added": "put on"}
TURN_TO = (
    "To bring a place up, turn the crank until the station's display shows its angle in the table. First see that "
    "it counts so: {shown}."
)
SHOWS_UP = "throw {throw} up, {shows}"
NO_UP = (
    "The station's profile does not tell what its display shows with throw 1 up (up, in [spin]): turn the crank "
    "by its throws, not by the display."
)
ZERO = "In this drawing all angles are the crank's: seen from the front, turning clockwise, from throw 1 up."

IN_THIS_ORDER = "TO DO, in this order"
HEAVY_METAL_FIRST = "TO DO, stage 1 of 2: heavy metal alone, then spin"
SIDE = "Seen from the right of somebody who faces its front, throw 1 up.{holes}"
NEAR_AND_FAR = " Holes on the side that is seen have a full line, those on the far side a dashed one."

# The report.
REPORT_TITLE = "What was weighed, read and done"
LEGEND = "Arrows: what the station read, by the spins' numbers; gray: its ±; thick: the tolerance."
IN_BALANCE = "in balance"
SIGNATURE_VOID = "SIGNATURE VOID"
SUM = "In the engine: the last spin and what hanging leaves, as vectors"
# Which of the two figures of a plane is told: what is signed for, and what the station alone read.
IN_ENGINE, OF_GIVEN = "in the engine", "with the given bobweights"
AS_SPUN = "{plane} plane on the station"
# A heading names what is in its table: whether anything was before, whether anything was spun.
BEFORE_AND_NOW, NOW = "Before and now", "Now"
AS_SPUN_AND_SPREADS, SPREADS = (
    "unbalance on the station, spread = heaviest − lightest",
    "spread = heaviest − lightest",
)
FROM_FRONT = "From the front, throw 1 up; angles are the crank's."
NO_SPIN = "The crank was not spun yet."
NO_STATION = "Whether the crank is balanced is not known: no balancing station's readings belong to this report."
PROVED = "A known mass was hung on the crank, and the station read it as it is."
NOT_READ = "The log has spins that cannot be told: the station's profile, or the tolerance, is not given."
NO_SPEED = "The job has no top speed, so nothing is said of what shakes."

# Letters for which there is no font.
EMPTY_BOXES = "Where a letter is an empty box, this PDF has no font for it: read it off the HTML card."
NO_FONT = (
    "No font here has {letters}: the PDFs show empty boxes in their place and say so. Print the HTML cards "
    "instead, or name a folder with a font that has them: {again} --fonts FOLDER"
)
