"""At the machinist's bench: new, enter, weigh, with the scale's port and the screen.
All that is decided is in balance/weighing.
May import: common, show; worksheets, balance."""
