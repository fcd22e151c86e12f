"""Why a figure is what it is: layouts, share, shake, sure, and the log's history.
May import: cli.common, cli.show, worksheets, balance."""
