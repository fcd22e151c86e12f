"""On paper: cards and their codes.
May import: common, profiles, show, station (for its profile); worksheets, balance."""
