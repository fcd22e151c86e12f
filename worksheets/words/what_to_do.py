"""What to do about a message of the program that says it with no words of its own for that, for the handbook's
table: by what is in the message, the first that fits. As whoever reads it would do it, the next command where
there is one."""

NOT_CHANGED = "nothing was changed: mend what it names, then the same command again"
LEAVE_ONE = "leave one of the two out, then the same command again"
ANOTHER_NAME = "the same command again, with another name"
LOOK_AT_THE_NAME = "look at the name and the folder, then the same command again"
FILE_A_DISK = "see to the disk, the cable or the right that it names; then the same command again"
ANOTHER_COPY = "name another copy; or save what is sound of it: truethrow book salvage NEW.db --from FILE"
WENT_APART = (
    "don't grind, drill or sign by either: find out at the parts and the crank which was really done; keep the "
    "other file aside, renamed, for whoever asks later"
)
NOTHING_TO_DO = "nothing is to be done"
ELSE = "as it says; then the same command again"

# In the order in which they are looked through: what is particular before what is in many.
OF: tuple[tuple[str, str], ...] = (
    # The scale
    (r"^is not above zero", "tare the empty scale, put the part on, and read it again"),
    (
        r"is below one step of the scale",
        "look at the unit, g typed as kg or as oz? and at the part; then read it again",
    ),
    (r"is beyond the scale", "look at the decimal point and the unit, and weigh the part again"),
    (r"the empty scale shows", "take all off it, tare it, let it rest, and read zero again before any part"),
    (r"lift it off and put it on again", "lift it off, wait for zero, and put it on again"),
    (r"^…; allowed: …", "look at the scale again, and type what it shows"),
    (r"^…, then weigh it again", "see to what it names, then put that part on again"),
    (
        r"this part has … readings already",
        "look why they differ; x cancels a wrong one; or go on to the next part",
    ),
    (
        r"is not weighed on this job|is no cylinder and part|is no part; allowed",
        "read the mark on the part; then go 3 pin, or by its label go piston P5",
    ),
    (
        r"a rod is weighed by its ends here",
        "hang the other end level: go big end, weigh it; go small end, weigh it",
    ),
    (r"everything is weighed; go to", "go to the part that lies there, such as go 3 pin, then weigh it"),
    (r"^everything is weighed$", "leave the bench, then: truethrow next JOB"),
    (r"too long for a number", "type one number, as the scale shows it"),
    (r"a reading is canceled with a reason", "say why: strike WHY, such as strike wrong rod"),
    (r"a reason has at most", "say it in fewer words"),
    (r"there is no reading to cancel", "look at what is recorded: truethrow history JOB"),
    (
        r"nothing was weighed yet|this is the first step",
        "weigh the part that it asks for, or go to another: go 3 pin",
    ),
    (r"needs pyserial", "install it: pip install pyserial; or leave --port out and type the readings"),
    (
        r"is no port|no scale at",
        "look at the cable, the power and the port's name: --port /dev/ttyUSB0, on Windows COM3",
    ),
    (r"--plain: is needed", "add --plain"),
    (
        r"stopped here; …, at hand is",
        "what it names as saved is saved: mend that line, and pipe in what comes from there on, nothing twice",
    ),
    (r"this session found is remembered already", f"{NOTHING_TO_DO}: what it found counts, and counts once"),
    (r"^blank$", "weigh that part, and fill the cell in"),
    (r"is more than one number", "one reading a cell; to enter a second one, add the column or row again"),
    (r"has two decimal marks", "look at the part's reading again, and type it with one point or comma"),
    (
        r": the sheet reads",
        "don't guess which is right: weigh that part again, truethrow weigh JOB, and leave the sheet out",
    ),
    (r"label: the sheet has", "read the mark on the part itself; then mend the one that is wrong"),
    (
        r"has a pound or more of ounces",
        "less than 16 ounces beside the pounds, such as 1 lb 3.5 oz; or all in ounces",
    ),
    (r"has a fraction that no rule has", "a fraction such as 18 1/2 oz, or a decimal"),
    # The grinder
    (r"nothing is to be taken off", "grind nothing off it: put it away; truethrow trim JOB lists what is to go"),
    (
        r"there is no other part to grind",
        "go on with the part at the grinder, or leave: what came off is recorded",
    ),
    (
        r"what is ground stays ground",
        "grind nothing more off it before it was weighed again; x cancels a wrong reading",
    ),
    (
        r"looks like a slip",
        "grind nothing by it: weigh that part again, or confirm it where it is right; both commands come with it",
    ),
    (r"is no cut of a plan", "take the cut's name as truethrow trim JOB tells it"),
    (r"recorded already…; grind no more", "grind no more off it: weigh it, truethrow weigh JOB"),
    (
        r"parts have traded places since they were named",
        "grind nothing by the old list: read the marks; truethrow trim JOB names each part where it is now",
    ),
    (r"nothing to cut: the plan is empty", "grind nothing; then: truethrow next JOB"),
    (r"reads as no cut can have left it", "grind nothing: weigh that part again, truethrow weigh JOB"),
    (r"no pad gives anything and no limit is exceeded", "grind nothing; leave --model out"),
    (r"none of the job's aims has a model", "name another aim in [match] aims, or leave --model out"),
    (
        r"nothing of it was weighed cylinder by cylinder",
        "weigh those parts one by one, truethrow weigh JOB; or name others in [match] move",
    ),
    (r"declared without", "take the part out of the command or the file, or out of without in [engine]"),
    # The station
    (
        r"nothing hangs on it: the crank is spun bare",
        "leave that throw out; if a bobweight does hang there, take it off before the next spin",
    ),
    (r"^… is out of reach", "read the display again: amount@angle, 0 to 360; nothing was recorded"),
    (r"^… is no reading", "as the display shows it, amount@angle, such as 6.1@203, front before rear"),
    (r"is no unit of a station", "write the unit that the display shows, or leave it out: [spin] has it"),
    (
        r"spin, sense: missing",
        'say in [spin] which way the station counts its angles, sense = "with" or "against" the rotation: by the '
        "wrong one every hole is at the wrong angle",
    ),
    (r"was not edited: there is no spin yet", "say nothing; edit the profile, then spin"),
    (
        r"was not edited since the last spin",
        "leave --wrong-since out; if something was changed at the station itself: --changed-today",
    ),
    (
        r"first a spin without it",
        "take the known masses off, spin, and record that; then hang them and spin again",
    ),
    (r"--unproved: there is no spin yet", "drill nothing: spin first, with the command that it shows"),
    (r"--unproved: a test mass has agreed", "leave --unproved out: the station is proved"),
    (r"--unproved: does not help", "drill nothing: first what it names, with the command that it shows"),
    (
        r"what was drilled already: …",
        "drill nothing more; record what was drilled, with the command that it shows",
    ),
    (
        r"is this a second pass\?",
        "look at the crank: a second time really? the same with --sure; if not, it is recorded already: leave it",
    ),
    (
        r"a hole made before that edit is in other metal",
        "drill nothing: spin again, and go on by what that spin reads",
    ),
    (
        r"if it was drilled deeper since",
        "measure the hole: deeper? the command that it shows; not deeper? then it is recorded already",
    ),
    (r"is what the holes aim at already", f"{NOTHING_TO_DO}; what to drill: truethrow holes JOB"),
    (r"look at it first, then Enter", "go and look at what it names; then yes, or Ctrl-C: nothing is recorded"),
    (r"--why: goes with --wrong-since", "say what the edit was: --wrong-since SPIN, or --changed-today"),
    (r"--figures: goes with", "add --entered-again, or leave --figures out"),
    (
        r"--entered-again: can't",
        "find out whether it was really done: then --entered-again, else --never-happened",
    ),
    (
        r"grade: needs crank_mass",
        "put crank_mass in [station] and top_speed in [engine]; or a limit in the place of the grade",
    ),
    (r"nothing that was recorded is of another crank", f"{NOTHING_TO_DO}: all spins and holes are of this crank"),
    (
        r"no station sheet|^row …, …: … is not a number",
        "don't mend a sheet by hand: truethrow send JOB writes it anew",
    ),
    (
        r"its profile is not found beside the job",
        "put the profile beside the job as station.toml, or set it: truethrow settings; till then don't go by "
        "the card",
    ),
    # What was recorded
    (r"whether .* nobody knows", "look first, truethrow history JOB: only what is not listed there is done again"),
    (r"the … is not saved", f"it is not recorded: {FILE_A_DISK}"),
    (r"the job was opened again since", "look which step you mean, truethrow history JOB, and name its record"),
    (r"is canceled already", f"{NOTHING_TO_DO}; why it was: truethrow history JOB"),
    (
        r"it says what was seen",
        "leave it; cancel the reading or the step that is wrong: truethrow history JOB has its id",
    ),
    (r"a cancelation can't be canceled", "weigh, or record, what was canceled once more; history keeps both"),
    (r"rests on it", "look at each: wrong, too? then the command below with --with-later; if not, cancel none"),
    (r"is not closed", f"{NOTHING_TO_DO}: the job is open"),
    (
        r"record … is another one in the book|would come before …|which came first is not known|What differs:",
        WENT_APART,
    ),
    # Cards
    (r"^--only: no … card", "do first what it names, or leave that card out of --only"),
    (r"not all of it was written", f"hang up none of these pages; {FILE_A_DISK}"),
    (
        r"no part of this job was weighed",
        "weigh the parts first: truethrow weigh JOB; by a bobweight on a tag there is no sum",
    ),
    (r"^CODE: is of job", "don't go by the card: ask where that job is open, truethrow current CODE JOB"),
    (
        r"is written, but may not be in the book",
        "don't go by that paper: print it again where the book can be written",
    ),
    (r"is not kept: only that it was issued", "don't go by an old paper: print it again, truethrow cards JOB"),
    # Files and figures
    (r"is no plain file", "name a file, not a pipe or a device"),
    (r"a hard link", "the two commands that it shows; then the same command again"),
    (
        r"changed by someone else meanwhile",
        "look at what was changed, truethrow history JOB and the file; then the same command again",
    ),
    (r"is open in another program|held by another program", "close it there; then the same command again"),
    (r"no such folder; nothing was written", "make the folder, or name another; then the same command again"),
    (r"not TOML", "mend the line that it names in an editor; then the same command again"),
    (r"can be read in two ways", "write it as it says; then the same command again"),
    (r"is not a number", "a plain number, such as 520.3, and behind it its unit where it is another"),
    (r"is out of reach", "look at the decimal point and the unit, and type it again"),
    (r"is (not a|no) unit of", "write one of the units in brackets"),
    (r"is a folder, not a file", "name the file in it"),
    (
        r"no cylinder on throw",
        "put a cylinder on that throw in [engine], or take another layout: truethrow layouts",
    ),
    # The book
    (
        r"what was copied and what is here differ|is no row of a book|its last line is missing|"
        r"^line …: is damaged|is no backup of a book|"
        r"no row of a book can be read|has no file here|is not the text that revision",
        ANOTHER_COPY,
    ),
    (r"only its owner can|only the book's owner|another's, who has to", "ask the owner of the book to do it"),
    (r"something was written into the book meanwhile", "the same command again; look once more at what would go"),
    (r"holds another's tables", "give the book a database of its own, in TRUETHROW_BOOK"),
    (r"is of an older truethrow", "its owner opens it once: truethrow book list"),
    (r"no backup was made", f"there is no new backup: {FILE_A_DISK}"),
    (r"a copy of the book goes there first", "make room there; then the same command again"),
    (r"has no revision", "name one that it has"),
    (r"^not text", "name a file of text, UTF-8 or as a spreadsheet saves it"),
    (r"is only looked at", "this is a look at the job; to record anything name the job itself"),
    (
        r"is on the shelf / in job",
        "read the mark on the part: the same part is there already; another one needs a mark of its own",
    ),
    (
        r"is neither in the stock nor in a job",
        "read the mark on the part, and look for it: truethrow book stock find",
    ),
    # Commands in general
    (r"has a log of readings already", "name another folder: what is recorded there is of another job"),
    (r"the questions were left", "the same command again, and answer to the end"),
    (r"--demo: has a scale of its own", "leave --scale out"),
    (r"--address: is for --lan", "add --lan, or leave --address out"),
    (r"--certificate: needs --key", "name both"),
    (r"is no address of this computer", "leave --address out, or name one that this computer has"),
    (r"it could not be started", "another --port, then the same command again"),
    (r"this floor is of one job alone", "open it over the folder: truethrow floor FOLDER"),
    (r"job …: is not open here", "open the floor over the folder or the book that has the job"),
    (r"^missing$", "fill the field in"),
    (r"^yes or no$", "answer with yes or no; Ctrl-C leaves, and nothing is recorded"),
    # Of many
    (r"pick another name|is no \w+ and is not written over", ANOTHER_NAME),
    (r"^…; nothing was written$", f"nothing was changed: {FILE_A_DISK}"),
    (r"nothing was|was made|as it was", NOT_CHANGED),
    (r"can't be combined|goes with", LEAVE_ONE),
    (r"no such", LOOK_AT_THE_NAME),
)
