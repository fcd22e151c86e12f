"""The shop's book of jobs.
May import: common, dry_run, show, plain_help; worksheets, balance."""
