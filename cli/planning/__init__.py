"""Before anything is bought or cut: sets and cranks side by side, the order, the quote, the lathe, what must
clear.
May import: common, profiles, in_folder, page_out, progress, show, station (for its tables); worksheets, balance."""
