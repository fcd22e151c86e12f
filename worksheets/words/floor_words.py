"""What the shop's screens say in a browser, beside what comes ready from the bench and the board.

Short: it is read from two metres, with gloves on."""

from __future__ import annotations

BOARD, BENCH, DEVICES, PAIR = "Board", "Bench", "Devices", "Let this device in"
OF_THE_SHOP = "truethrow floor"

# The line to the shop's computer.
LIVE = "line is up"
WAITS = "waiting for the line …"
NO_SCRIPT = "This screen needs its script: switch scripts on for this page."
LOST = "LINE LOST"
LOST_WHY = "This screen does not hear the shop's computer. Nothing on it is live."
LOST_BENCH = "Type what the scale shows. It is kept on this screen and sent once the line is back."
LOST_DESK = "What is to be done is not shown until the line is back. Do nothing by memory."
LOST_BOARD = "What is below is how the jobs were when the line was lost."

# What to do, above the part, by what became of what lies on the scale.
DO = {
    "empty": "Put on",
    "settling": "Wait",
    "stable": "It rests",
    "early": "Lift it off, then put on",
    "off": "Tare it, then put on",
    "held": "Is this the part?",
    "unsaved": "Leave it on, press Take",
    "taken": "Lift it off, then put on",
    "canceled": "Lift it off, then put on",
}
DO_TYPE = "Weigh, then type"
DO_GRIND, DO_STOP = "Grind", "Stop grinding, lift it off"
SCALE_LOST = "SCALE LOST"
THE_OTHERS = "The others"
NOW = "now"
TO_GO = "to go"
WRONG = "Cancel a wrong reading"

TAKE, AGAIN, CANCEL, SKIP, BACK, TYPE, GO = "Take", "Again", "Cancel", "Skip", "Back", "Type", "Go to"
# The key of each on a keyboard, as the bench's words call it.
KEYS = {"take": "Enter", "again": "r", "cancel": "x", "skip": "s", "back": "b", "type": "0-9", "go": "g"}
# What each button does, for who hears the screen.
DOES = {
    "take": "take what lies on the scale",
    "again": "weigh the last part once more",
    "cancel": "cancel the last reading, with a reason",
    "skip": "leave this part for later",
    "back": "back to the part weighed last",
    "type": "type a number",
    "go": "go to another part",
}
LEAVE = "Leave it"
CLOSE = "Close"
RUB = "Rub out the last digit"
POINT = "Point"
TAKE_IT = "Take it"
TYPED_FOR = "Typed for"
OTHER_REASON = "Another reason"
SAY_SO = "Cancel it"
WHICH_KIND = "Go to which part?"
PICK_ONE = "Which one?"

NOT_SAVED = "NOT SAVED"
UNSENT = "Kept on this screen; sent once the line is back."
UNSENT_ELSEWHERE = "Kept on this screen; sent once you take over here."
UNSENT_ENDED = "Kept on this screen: nothing more is taken at this bench."
ANOTHER_WAITS = "not sent: another reading of this bench is NOT SAVED yet; it goes first"
DROP = "Drop it"
NO_ANSWER = "no answer came; look what this screen says before you do it again"
NOT_KEPT = "not sent: this browser keeps nothing; let it keep the data of this page"
TURNED_OUT = "this device is not let in any more; pair it again"
NOT_UNDERSTOOD = "the shop's computer gave no answer to that; it is tried again"
STILL_UNSENT = "A reading typed on this device is not saved yet. Open its bench to send it:"
ONLY_LOOKS = "This screen only looks."
ELSEWHERE = "takes here. This screen only watches."
TAKE_OVER = "Take over here"

GRIND, WEIGH = "To the grinder", "Back to weighing"

UNSAVED_THERE = "NOT SAVED"
ENDED = "STOP: nothing more can be taken here"
QUESTION = "Answer first"

YES, NO = "Yes", "No, go back"
WHY = "Why"
# The pages of one job, by their names in addresses.
PLACES = {"bench": "Bench", "build": "Build", "station": "Station", "cards": "Cards"}
CARDS = "Cards"
TO_THE_BENCH = "To the bench"
CARDS_OF, NO_CARDS = "The cards that were made", "No card is made yet"
MAKE_CARDS, MAKE_AGAIN = "Make the cards", "Make them anew"
MAKE_HOW = "Every card that can be made by now, as the job is. What was made before is replaced."
AS_PDF, AS_PAGE = "PDF, to print", "As a page"

BLOCKED = "BLOCKED"
NEXT = "Next"
DUE = "due"
LATE = "LATE"
WEIGHING = "being weighed by"
CHANGED = "last record"
NO_JOBS = "No open job."
BEGIN_ONE = "Press New job to begin one."
NEW, NEW_SHORT = "A new job", "New job"
NEW_LAYOUT = "Layout of the crank"
NEW_FIELDS = {
    "id": "Number or name of the job (empty: one is made)",
    "title": "What it is",
    "step": "The scale's step (empty: 0.1 g)",
    "stroke": "Stroke (empty: not known)",
    "cylinder_spacing": "Cylinder spacing, throw to throw (empty: not known)",
    "rod_length": "Rod length, center to center (empty: not known)",
}
MAKE_JOB = "Make the job"
NEW_PASTE, NEW_TEXT, TAKE_JOB = "Or paste a job file", "The text of the file", "Take it in"
CANNOT_READ = "Cannot be read"

CARD, CARD_SHORT = "Is a card still good?", "Card"
CARD_HOW = (
    "Scan the code on the card with the phone's camera, copy its text and put it here. Or type it as printed."
)
CARD_CODE, ASK = "The card's code", "Look it up"
CURRENT, NOT_CURRENT = "CURRENT", "DO NOT WORK FROM IT"
ANOTHER_CARD = "Another card"

PAIR_HOW = "Type the code that the shop's computer shows, and your initials."
CODE, INITIALS, LET_IN = "Code", "Initials", "Let me in"
SCAN = "Scan this with the device, or open the address on it and type the code."
GOOD_FOR = "Good for"
ONCE = "It lets one device in, once."
MAY = {
    "owner": "everything, and lets devices in",
    "bench": "weighs and grinds",
    "builder": "matches and trims",
    "station": "spins, drills and signs",
    "viewer": "only looks",
}
LET_ONE_IN = "Let a device in"
PAIRED, SEEN, THIS_ONE, TURN_OUT = "let in", "last seen", "this device", "Turn out"
TURN_IT_OUT = "Yes, turn it out"
NO_DEVICES = "No other device is let in."

# Above a page that cannot be shown.
NO_PAGE, NOT_OPEN, OWNER_ONLY = "No such page", "This bench does not open", "For the owner alone"
NOT_DONE, REFUSED = "Not done", "Refused"
TRY_AGAIN = "Try again"
TO_THE_BOARD = "To the board"
