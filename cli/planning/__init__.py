"""Before anything is bought or cut: sets and cranks side by side, the order, the lathe, what must clear.
May import: common, page_out, progress, show, station (for its tables); worksheets, balance."""
