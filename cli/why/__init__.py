"""Why a figure is what it is: layouts, share, shake, sure, and the log's history.
May import: common, completing, show, progress, trading; worksheets, balance."""
