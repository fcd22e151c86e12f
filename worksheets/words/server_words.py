"""What the floor's screens tell beside the benches' own words: who may, what has changed, how to start."""

from __future__ import annotations

from truethrow.worksheets.words.floor_words import GO, GRIND, WEIGH

# Why nothing can be said of a card.
NO_CARD = "{code} is no card's code: it is the text beside the code on the card, and begins with truethrow:"
CARD_UNWEIGHED = "the job is not weighed to its end: nobody knows whether this card is good; don't work from it"

# What the terminal says.
SHOWN = "The floor of {place}: {address}"
HOW_TO_END = "Ctrl-C ends it; every reading is saved already."
ENDED = "The floor is closed."
NOT_ENCRYPTED = (
    "Anybody on the shop's network can read along: name a certificate and its key (--certificate, --key) to "
    "prevent that."
)
OWNER = "Open this on this computer, within {minutes} minutes, to be the owner: {address}"
LET_IN = "To let a device in, as {role}, within {minutes} minutes: {address}"

# Why a request is refused.
OTHER_HOST = "this is not the address of the floor"
CROSS_SITE = "this came from another site's page; nothing was done"
NOT_PAIRED = "this device is not let in: ask for a code at the shop's computer, then open its address here"
MAY_ONLY_LOOK = "this device is here as {role}: it may look, not weigh"
MAY_NOT_BEGIN = "this device is here as {role}: it may look, not begin a job"
MAY_NOT_PRINT = "this device is here as {role}: it may look, not have cards made"
OWNER_ONLY = "only the owner does that, at the shop's computer"
OWNERS_CODE = "this code is the owner's: it works in a browser on the shop's computer alone"
WRONG_CODE = "this code is wrong, used or too old; ask for a new one at the shop's computer"
TOO_MANY_GUESSES = "too many wrong codes from this device; ask for a new one at the shop's computer"
ALL_VOID = "too many wrong codes: all codes are void now; ask for a new one at the shop's computer"
NO_INITIALS = "initials: missing; they go into the records of what is weighed here"
LONG_INITIALS = "initials: {typed!r}; allowed: printable, at most {most} characters"
NO_SUCH_PAGE = "there is no such page"
NO_ANSWER = "the bench gave no answer; look what it shows before doing it again"
NO_REQUEST = "this is no request of the floor's own pages"

# Where it is done, in the place of a command, where nobody types one.
AT_ITS_BENCH = ": touch here for its bench"
ON_THE_BENCH = "(at its bench)"
ON_BUILD = "(on its Build page)"
ON_STATION = "(on its Station page)"
BY_TYPING = "(at the shop's computer)"
AT_THE_COMPUTER = "(at the shop's computer: {command})"
TO_THE_GRINDER = f": press {GRIND}"
WEIGH_FIRST = f": press {WEIGH}, then {GO}"
GO_THERE = f": press {GO}"
CANCEL_HERE = ": touch its reading here"
AND_MORE = "(and {count} more)"
# What an option of a command is called where a hand fills it in.
FIELDS = {"--by": "initials", "--why": "the reason"}
# What a step is for that is told by its command alone.
DOES = {
    "accept": "accept the match, or leave it",
    "check": "look at the readings",
    "confirm": "say that the reading is right",
    "enter": "enter the weigh sheet",
    "ground": "record what was ground",
    "holes": "drill by the plan, and record it",
    "match": "find a match",
    "sign": "sign",
    "spin": "spin, and type what the display shows",
    "stack": "stack the plates",
    "strike": "cancel the record that is wrong",
    "test-mass": "prove the station with known masses",
    "trim": "grind by the trim",
    "weigh": "weigh",
}

# At a bench.
ANOTHER_TAKES = "{who} takes the readings here; take over first"
TOOK_OVER = "{who} takes the readings from now on"
STEP_IS_ANOTHER = (
    "meanwhile something changed: {part} was asked for on this screen, now it is {now}. Record {typed} for {part} "
    "all the same?"
)
NO_STEP_NOW = (
    "meanwhile something changed: {part} was asked for on this screen, now nothing is. Record {typed} for {part} "
    "all the same?"
)
TYPED_AT_GRINDER = (
    "{typed} was typed at the grinder, but this bench is not at the grinder now. Record {typed} as a plain "
    "weighing of {part}? Only if that is what lay on the scale."
)
TYPED_AT_SCALE = (
    "{typed} was typed while this bench weighed; now it is at the grinder. Record {typed} for {part} as it is "
    "after grinding? Only if that is what lay on the scale."
)
HAS_ONE_MORE = (
    "meanwhile {part} got another reading, {before}. Record {typed} as one more of the same part all the same?"
)
CUT_SINCE = (
    "meanwhile metal was taken off {part}. Record {typed} as what it weighs after that? Only if it was weighed "
    "after the cut."
)
PART_CHANGED = "meanwhile the job changed: {what}. Is {typed} the reading of {part} as it is now?"
TAKE_AGAIN = "this screen was behind: {now} is asked for now; look again, then take it"
NOTHING_TO_TAKE = "this screen was behind: nothing is asked for now; look again"
CHECK_FIRST = "{check} first; {typed} for {part} is kept on this screen and recorded after that"
IS_SAVED = "saved before: {said}"
SCALE_IS_ELSEWHERE = "the scale at {port} is at the bench of {job}"
NOBODY_TAKES = "no screen takes here, so nothing is taken from the scale"
ASLEEP = "the screen that takes is asleep: nothing is taken; wake it"
YES, NO = "Yes, record it", "No, drop it"
DROPPED = "dropped: {typed}"
WHICH_READING = "Which reading is wrong?"
ANOTHER_READING = "It is another reading …"
READINGS_OF = "readings of {kind} …"
A_READING = "{part}: {typed} ({who}, {when} UTC)"
CANCEL_IT = "Cancel {typed} of {part}, because: {why}? It stays in the history, and the part is asked for again."
YES_CANCEL, NO_STAYS = "Yes, cancel it", "No, it stays"
NOT_COUNTED = "that reading no longer counts; look again"
NOTHING_COUNTS = "no reading counts yet"
RESTS_ON_IT = "later records rest on it: {what}; cancel it at the shop's computer (truethrow strike)"
ANSWERED = "{who} answered: {what}"
IS_CANCELED = "{typed} of {part} is canceled: {why}"
IS_RECORDED = "{typed} is recorded for {part}"
STAYS = "{typed} of {part} stays"
NO_SUCH_ACTION = "{action!r} is nothing that a bench does"
PARTS_TRADED = "parts have traded places"
JOB_CHANGED = "the job's text was changed: read anew"
