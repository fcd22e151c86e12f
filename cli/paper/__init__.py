"""On paper: cards and their codes.
May import: cli.station, cli.common, cli.show, worksheets, balance."""
