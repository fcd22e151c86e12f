"""On paper: cards and their codes.
May import: common, show, station (for its profile); worksheets, balance."""
