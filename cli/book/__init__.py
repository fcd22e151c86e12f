"""The shop's book of jobs.
May import: common, show, plain_help; worksheets, balance."""
