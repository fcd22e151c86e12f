"""Before anything is bought or cut: what the lathe would do to a crank, and what must clear.
May import: common, progress, show, station (for its tables); worksheets, balance."""
