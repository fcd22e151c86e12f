"""At the machinist's bench: tally, new, enter, weigh, with the scale's port and the screen.
All that is decided is in balance/weighing.
May import: asking, common, profiles, show; worksheets, balance."""
