"""The shop's book of jobs.
May import: cli.common, cli.show, worksheets, balance."""
