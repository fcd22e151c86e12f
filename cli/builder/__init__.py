"""At the builder's bench: work, hang, check, trim, ground, match, accept, shelf, and their tables.
May import: cli.station (the station's sheet), cli.common, cli.show, worksheets, balance."""
