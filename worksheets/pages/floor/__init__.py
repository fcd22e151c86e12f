"""The shop's screens in a browser: what they show, as plain values, and their pages.

    state       what a board, a bench, a pairing and the devices are, as plain values
    build_state  what the builder's page shows
    station_state  what the station's page shows
    pages       those values as HTML, by the templates beside it
    assets/     one stylesheet, one script, one sign; nothing else is ever sent

A page and the events after it are made of the same values, so a screen never says another thing after it was
loaded anew."""
