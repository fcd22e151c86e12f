"""What the page of the builder says beside what comes ready from the domain. Short: it is read from two metres."""

from __future__ import annotations

BUILD = "Build"

# What to do now, in the largest letters.
DO = {
    "fault": "Nothing can be told yet",
    "weigh": "Weigh the parts first",
    "look": "Look again first",
    "search": "Matching …",
    "match": "Match the parts first",
    "accept": "Mark these parts, then accept",
    "grind": "Grind these parts",
    "again": "All is ground. Weigh these again",
    "done": "Nothing to grind",
}
TO_THE_GRINDER = "Grind and weigh at the bench"
MATCH, MATCH_AGAIN, STOP = "Find a match", "Match again", "Stop, take the best so far"
ACCEPT, REJECT = "Accept: they are marked", "Leave it: nothing moves"
MATCH_FIRST = (
    "Nothing is ground before: once parts trade places, the cuts are others.",
    "Are they to stay where they sit? Take [match] out of the job, at the shop's computer.",
)
PROPOSED, ACCEPTED = "The match that is proposed", "Accepted: where the parts go"
TAKE, MARK_IT, TO = "take", "mark it", "goes in"
BEFORE, AFTER = "as they sit", "matched"
# What is to be looked at again, and what may be done about it.
TWICE = "{parts}: weighed once"
ONE_READING = "Weigh it once more at the bench. Or is it right as it reads? Then say who looked."
EITHER = "Weigh both once more at the bench. Or are both right as they read? Then say who looked."
ONE_SET = "Look whether they are all of one set. They belong together? Then say who looked."
OF_ALL = "Mend it in the job, at the shop's computer. Or is it right as it reads? Then say who looked."
WRONG_ONE = (
    "Weigh it once more at the bench, and cancel there the one that is wrong; one that came with the job or a "
    "weigh sheet is mended at the shop's computer. The scale scatters so? Then say that in the job, there, too."
)
IN_THE_JOB = "Mend it in the job, at the shop's computer; or say there that the scale scatters so."
FOR_A_BIG_CUT = (
    "More than {share} of a part would come off: that takes two readings that agree (common practice, no source). "
    "Weigh it once more at the bench. Or is it right as it reads? Then say who looked."
)
FOR_THE_PLUS_MINUS = (
    "The ± is more than a quarter of a limit, or only assumed, and metal would be cut for the ± alone. Weigh each "
    "once more at the bench."
)
OF_NO_CUT = (
    "Weigh it again at the bench, and cancel there what was wrong: nothing is planned after a reading that cannot "
    "come from the cut."
)
WEIGH_AGAIN, IS_RIGHT = "Weigh {part}", "It is right as it reads"
ASK_RIGHT = (
    "{part} reads {reads}. Who looked at it again, and why is it right? From then on it counts, and metal comes "
    "off by it."
)
WHO_LOOKED, YES_RIGHT = "Initials of who looked", "Yes, it is right"
WHO_AND_WHY = "type the initials of who looked, and why it is right"
NO_LONGER_ASKED = "meanwhile it reads otherwise, or was settled; look at this page again"
RIGHT_NOW = "recorded as right, by {by}"
SETTLE = "Nothing to trim yet: too close to call: {spreads}. Weighed a second time, these parts would settle it:"
RESTS_ON_A_SLIP = "it rests on what looks like a slip; look again first"

PROPOSED_BY = "proposed by {by}, {at} UTC"
ACCEPTED_BY = "accepted by {by}, {at} UTC"
CANNOT_ACCEPT = "It cannot be accepted now"
ASK_ACCEPT = "{count} parts trade places. Is each of them marked as it is told above?"
MAY_NOT_TICK = "this device is here as {role}: it may look, not record cuts"
MAY_NOT_BUILD = "this device is here as {role}: it may look, not match or accept"

TRIM, CUTS = "The trim", "{done} of {count} cuts recorded"
TAKE_OFF, AT_THE = "take off", "at the {pad}"
THEN_READS = "then reads"
TICK, TICKED = "It is off", "recorded"
TICKED_BY = "recorded by {by}"
ASK_TICK = "{grams} off {part}: is that much off? Its old weight no longer counts then; weigh it again."
UNDO = "It is not off"
CANCEL_WHY = (
    "The cut at {part} is told as off. Why is it not? Metal that is off stays off: cancel only what nobody ground."
)
WRONG_PART = "ticked the wrong part"
WHY_NOT = (WRONG_PART, "ticked too early, not ground yet")
TICKED_NOW = "{part}: {grams} recorded as off; weigh it again"
UNTICKED = "canceled: {part}; it is to be ground again"
GROUND_INSTEAD = (
    "{canceled}. Was another part ground in its place? Tick that one, or weigh it again, before anything more "
    "comes off it."
)
ACCEPTED_NOW = "accepted; mark these before you move any"
REJECTED_WHY, REJECTED = "not wanted", "the match is canceled; nothing has moved"
ASK_REJECT = "Leave this match? Nothing moves, and the parts are to be matched anew before any is ground."
NEWER_MATCH = "meanwhile a newer match was proposed; look what it moves"
NO_PROPOSAL = "this is no match that waits"
SEARCHES, SEARCHES_ALREADY = "the search has begun", "a search is under way already"
NO_SEARCH = "no search is under way"
STOPPING = "stopped; the best so far is proposed"
SEARCH_FAILED = "the search ended without an answer; try it again"
NO_CUT_HERE = "this cut is not recorded"
NEXT = "Next"
# What lies ahead, to be read.
AHEAD = "Before anything is bought or ground"
CANDIDATES, SHELF, WHAT_IF = "Candidates", "The shelf", "What if"
TO_CANDIDATES, TO_SHELF, TO_WHAT_IF = "Candidates in {file}", "What the shelf makes ({count} files)", "What if …"
TO_STOCK = "What the loose parts of the book make"
CANDIDATES_ELSEWHERE = "Candidates are files, and the book has none: compare them at the shop's computer."
EMPTY_STOCK = "no loose parts in the book yet; they are put into it at the shop's computer"
ONLY_READ = "Only to be read: nothing is recorded here, and nothing is bought, hung or ground by it alone."
SORT_BY, CHOSEN_ONE, ALL_OF_THEM, CHOOSE = "What matters", "Which one", "All of them", "Number {number} alone"
MORE_ENGINES = "… and {more} engines more."
WORKS_IT_OUT = "Working it out …"
NO_FIGURES = "no figures came of it; try it again"
BACK_TO_BUILD, WORK_OUT = "Back to Build", "Work it out"
WHAT_IF_FIELDS = {
    "share": "Another share, 0 to 1",
    "oil": "Another oil allowance a throw",
    "part": "Other parts: piston -12; pin 3 = 118.2; rod 7 = 620 + 190",
    "turned_to": "Counterweights turned to this radius",
}
ONLY_LOOKS = "This device only looks."
MARKING = (
    "The mark 5>1 says: weighed in 5, goes in 1. Rod and cap alike; pins, locks and rings on their bag. A "
    "cylinder number that is stamped on a part, or was marked before, is not where it goes any more: cross it out."
)
