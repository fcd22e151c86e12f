"""What the station's page says in a browser, beside the sentences of the station's screen and card. Short: it is
read from two metres, with gloves on."""

from __future__ import annotations

STATION = "Station"

# What to do now, above the step; and the step, by what comes next.
DO = {
    "bobweights": "Build and weigh",
    "spin": "Spin",
    "prove": "Bolt on, then spin",
    "hole": "Drill",
    "sign": "Sign",
    "signed": "Signed",
    "look": "Stop and look",
    "stop": "Stop",
}
STEP = {
    "bobweights": "Bobweights",
    "spin": "Spin {number}",
    "prove": "Known masses",
    "hole": "Hole {number} of {count}",
    "sign": "May be signed",
    "signed": "{by}",
    "look": "Look first",
    "stop": "First this",
}
WEIGH_FIRST = "Weigh the parts first"
SLUG_DO, SLUG_STEP = "Bore and press in", "Slug {number} of {count}"
GRIND_DO, GRIND_STEP = "Grind", "Arc {number} of {count}"

VIEWS = {
    "bobweights": "Bobweights",
    "spin": "Spin",
    "prove": "Masses",
    "hole": "Holes",
    "spins": "Spins",
    "sign": "Sign",
}
# The buttons, by what they do.
TYPE_SPIN = "Type what the display shows"
TYPE_MASSES = "They are on: type what the display shows"
DONE_AS_TOLD = "Done as told"
REALLY_DEEP = "Really deep"
SLUG_WEIGHS = "The slug weighs"
SIGN_IT = "Sign it"
READ_BACK = "Read it back"
NEXT_FIELD = "Next"
ANOTHER_RUN = "Another run"
DROP_RUN = "Drop the last run"
CLOSE = "Close"
YES = {
    "built": "Yes, it weighs that",
    "spin": "Yes, record it",
    "prove": "Yes, record it",
    "hole": "Yes, it is in the crank so",
    "sign": "Yes, I sign",
    "did": "Yes, it is in the crank so",
    "cancel": "Yes, cancel it",
    "looked": "Yes, I looked at it",
}
NO = "No"

FRONT, REAR = "Front", "Rear"
UNIT_SHOWN = "The unit on the display now (look, then touch it)"
UNIT_FIRST = "look which unit the display shows now, and touch it"
UNIT_MISSING = "the unit on the display"
AT_RADIUS = "at {radius}"
LOOKED_OVER = "Look at each, then touch it ({asked}):"
ON_THE_CRANK = "On the crank at this spin (touch what is off):"
TURN_UNTIL = "Turn the crank until the display shows"
UP_THEN = "This place is up then, as in the drawing: station {own}, crank {crank}."
TURN_BY_HAND = (
    "The profile does not tell what the display shows with throw 1 up: turn by the throws until this place is up, "
    "as in the drawing."
)
FROM_THE_FRONT = "From the front, this place up."
CRANKS = "crank {angle}"
STATIONS = "station"
ALL_HOLES = "The plan"
WAITS = "waits"
RECORDED = "recorded{by} at {at} UTC"
WHO_SIGNS = "Initials of who signs"
SIGNED, SIGNATURE = "Signed by {by}, {at} UTC", "record {id}"
NOT_TO_BE_SIGNED = "Not to be signed yet"
NOTHING_TO_DRILL = "No hole is to be drilled now."
NO_SPIN = "No spin yet."
DIALS = "On the dials angles are the crank's: from the front, turning clockwise, from throw 1 up."
SPIN_FIRST = "Spin before the rest"
NO_PLATES = "The station's profile has no plates: build them your way, and weigh them."
BARE = "Nothing is hung on this crank: it is spun bare."
ASKED, WEIGHED, NOT_WEIGHED, OFF = "asked for", "weighed", "not weighed", "off"
FIRST_ELSEWHERE = "Before the station goes on"
STOPS = "Drill nothing and sign nothing until then"
AWAY, LOST = "Line lost", "Do nothing by this screen until it is back."

WEIGH_EACH = "Weigh each, clamp and all; touch it to type what it weighs:"
THROW = "throw"
HUNG_SO = "What I weigh now hung so at the last spin"
HANGS = "Hangs on throw"
IS_TURNED = "The fixture is turned by 180°"
ON_PLANE = "{plane} plane"
OF_THE_CRANK = "crank"
PULLS = "pulls {pulls}"
DEEP, TIP = "deep", "tip at {tip}"
NOT_WEIGHED_SLUG = "Pressed in, not weighed"
PLANE, HEAVY_AT, TOLERANCE, HISTORY = "plane", "heavy at", "tolerance", "Spin by spin"

# On the pad: what each field is, and what stands above them.
BUILT = "weighs"
FRONT_MASS, FRONT_AT = "front mass", "at, crank"
REAR_MASS, REAR_AT = "rear mass", "at, crank"
RADIUS = "at radius"
FRONT_ANGLE, REAR_ANGLE = "at, display", "at, display"
PAD_THROW = "throw"
PAD_BUILT = "asked for"
PAD_MASSES = "What is bolted on: what the scale says of each mass"
PAD_RUNS = "What the display shows"
PAD_DEEP = "How deep its full diameter really is"
PAD_GRAMS = "What the scale says of the slug"
PAD_RUN = "run"

# What is read back before a yes, and what is told of what was recorded.
SPIN_IS = "Spin {number} ({runs}), as the display shows it:"
TURNED_IS = "Turned runs of spin {number} ({runs}), as the display shows them:"
READS = "{plane} {amount} {unit} at {own}° = crank {crank}°"
READS_RAW = "{plane} {amount} divisions at {own}°"
RUNS = {1: "one run"}
MANY_RUNS = "{count} runs"
ON = "On the crank: {names}."
NOTHING_ON = "Nothing else is on the crank."
MASSES_ARE = "Known masses on the crank:"
MASS_IS = "{plane} {grams} at {at}, radius {radius}"
WITH_THEM = "With them on the display shows:"
BUILT_IS = "The bobweight of throw {throw} weighs {mass}, clamp and all; asked for {asked}."
HUNG_THERE = "So it hung at the last spin."
HOLE_IS = "Hole {number}: {said}."
DONE_SO = "Is it in the crank so?"
SIGN_IS = "{by} signs crank and bobweight as they turn in the engine:"
SUM_IS = "{plane}: {amount} ± {sure} of {tolerance} {unit}, {verdict}"
MEANWHILE = "Look again, since this screen was drawn: {what}."
ANOTHER_DAY = "Look again: this was asked on another day, and nothing has been recorded."
LOOKS_WRONG = "Look before you say yes. {said}"
PLAN_CHANGED = (
    "The plan has changed since this screen showed it. As it is now: {said}. Say yes only if that is what was "
    "done; else say under Holes what was really done."
)
CHANGED = "the job, the station's profile or its log has changed"
RECORD_BY = "{said}{by} at {at}"

IS_RECORDED = {
    "built": "recorded: throw {throw} weighs {mass}",
    "spin": "recorded: spin {number}",
    "prove": "recorded: the known masses",
    "hole": "recorded: hole {number}",
    "sign": "signed by {by}",
    "did": "recorded: what was done",
    "cancel": "canceled; it stays in the history",
    "looked": "recorded: looked at by {by}",
}
MASSES_AGREE = "recorded: the known masses agree. Take them off before the next spin."
MASSES_DISAGREE = "recorded: the known masses do not agree"
MAY_ONLY_LOOK = "this device is here as {role}: it may look, not spin, drill or sign"
# What a field that is missing is called.
FIELDS = {
    "mass": "what the bobweight weighs",
    "grams": "what the known mass weighs",
    "at": "the angle of the known mass",
    "radius": "the radius of the known masses",
    "member": "which counterweight",
    "angle": "the angle",
    "tool": "which drill",
    "deep": "how deep it is",
    "own_radius": "at which radius",
    "wide": "how wide the slug is",
    "long": "how long the slug is",
    "arc": "how wide the arc is",
    "took": "what came off or went on",
}

# Where on the page is done what the commands tell as a command, and by whom where it is not done here.
UNDER = {
    "spin": "under Spin",
    "prove": "under Masses",
    "bobweights": "under Bobweights",
    "hole": "under Holes",
    "spins": "under Spins",
    "sign": "under Sign",
    "cancel": "cancel it under Spins",
    "did": "under Holes, not recorded",
    "looked": "under Holes, looked at",
}
AT_THE_BENCH = "at the job's bench"
ON_BUILD = "on the Build page"
BY_THE_OWNER = "the owner, at the shop's computer"
DO_IT = {
    "spin": "Spin again",
    "test-mass": "Bolt the known masses on, and spin",
    "stack": "Build the bobweights, and weigh them",
    "holes": "See what to drill",
    "spins": "See spin by spin",
    "sign": "Sign it off",
}
OPEN_IT = {
    "bobweights": "To the bobweights",
    "spin": "Type a spin",
    "prove": "To the known masses",
    "hole": "To the holes",
    "spins": "See the spins",
    "sign": "To the signature",
    "did": "Say what was drilled",
    "offered": "Say how deep they are",
    "cancel": "Cancel that record",
    "looked": "It was looked at",
}

# What was done and is not recorded, what was recorded and is not so, and what breaks a limit.
NOT_RECORDED = "Something else was drilled"
DID_HEAD = "What is in the crank and not recorded"
OFFERED_HEAD = "Drilled by the plan, not recorded: how deep is each really?"
WHICH_MEMBER, WHICH_DRILL, WHAT_ANGLE = "Counterweight", "Drill", "Angle"
STATIONS_ANGLE, CRANKS_ANGLE = "by the display", "crank, from throw 1"
HOW_DEEP = "How deep (of a hole its full diameter)"
SINCE_WHEN = "Since when"
AFTER_LAST, AT_SPIN = "after the last spin", "at spin {number} it was there already"
WHAT_KIND = "What it is"
KINDS = {
    "rim": "a hole into the rim",
    "bore": "a bore along the crank",
    "slug": "a slug of heavy metal",
    "arc": "an arc that was ground",
    "took": "metal that came off, by the scale",
    "added": "metal that was put on, by the scale",
}
AT_WHICH_RADIUS, ARC_WIDE = "At which radius, from the crank's middle", "How wide the arc is"
SLUG_WIDE, SLUG_LONG = "How wide the slug is", "How long it is"
GRAMS_SAID, FROM_FACE, ANY_FACE = "What the scale says", "From which face", "not told"
TO_CANCEL = "Recorded wrong? Cancel it: it stays in the history."
CANCEL_IT, CANCEL_HEAD = "Cancel", "Cancel a record"
WHY_CANCEL = "Why, in a word"
METAL_STAYS = "Metal that is off stays off: never cancel what was really drilled."
LOOKED_HEAD = "Whoever is qualified looked at it"
LOOKED_IT = "It was looked at"
WHO_LOOKED, WHY_LOOKED = "Initials of who looked at it", "What was looked at, and why it may be so"
READ_IT_BACK = "Read it back"
DID_IS = "In the crank: {said}."
DID_BEFORE = "It was there at spin {number} already."
CANCEL_IS = "Cancel: {said}"
GOES_TOO = "It takes with it: {said}"
STAYS_SO = "Stays in the crank all the same: {said}"
THEN_IT_IS = "Then: {said}"
LOOKED_IS = "{by} looked at it, and lets it be: {why}"
