"""Why a figure is what it is: layouts, share, shake, sure, and the log's history.
May import: asking, common, profiles, completing, page_out, show, progress, trading, station; worksheets,
balance."""
