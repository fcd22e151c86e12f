"""Before anything is bought or cut: sets and cranks side by side, the order, the quote, the lathe, what must
clear.
May import: common, in_folder, page_out, profiles, progress, show, station (for its tables); worksheets,
balance."""
