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
ACCEPT, REJECT = "Accept: they are marked", "Leave it, grind as they sit"
PROPOSED, ACCEPTED = "The match that is proposed", "Accepted: where the parts go"
TAKE, MARK_IT, TO = "take", "mark it", "goes in"
BEFORE, AFTER = "as they sit", "matched"
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
WHY_NOT = ("ticked the wrong part", "ticked too early, not ground yet")
TICKED_NOW = "{part}: {grams} recorded as off; weigh it again"
UNTICKED = "canceled: {part}; it is to be ground again"
ACCEPTED_NOW = "accepted; mark these before you move any"
REJECTED_WHY, REJECTED = "not wanted", "the match is canceled; nothing has moved"
ASK_REJECT = "Leave this match? Nothing moves, and the trim is of the parts as they sit."
NO_PROPOSAL = "this is no match that waits"
SEARCHES, SEARCHES_ALREADY = "the search has begun", "a search is under way already"
NO_SEARCH = "no search is under way"
STOPPING = "stopped; the best so far is proposed"
SEARCH_FAILED = "the search ended without an answer; try it again"
NO_CUT_HERE = "this cut is not recorded"
NEXT = "Next"
ONLY_LOOKS = "This device only looks."
MARKING = (
    "The mark 5>1 says: weighed in 5, goes in 1. Rod and cap alike; pins, locks and rings on their bag. A "
    "cylinder number that is stamped on a part, or was marked before, is not where it goes any more: cross it out."
)
