"""The shop's screens: a small server of pages for what hangs beside a bench, and of what they record. It shows and
records through the same benches, places and logs as the command line; all that it computes is theirs. Its two
libraries are an extra, loaded once the command runs.

    command       what is typed               serving       the address, the signals, the libraries
    shop          which jobs there are        watching      what is recorded in them, whoever does it
    rows          where a job is by now       channel       what is said to all screens
    bench         one bench, in a thread      bench_state   what it shows
    desk          a page of one job that is worked out whole after each change
    build         the builder's, one of them    build_state   what it shows
    look_again    an odd reading, and who says that it is right
    ahead         candidates, what-if and a shelf, to be read
    searching     a match, looked for in a process of its own
    station       the station's, another      station_acts  what is done there, act by act
    station_state  what it shows              station_shown  its parts
    station_ways  what is a command elsewhere, and what can be canceled or said to be in the crank
    cards         those of a job, made and opened
    new_job       one that is begun from a page
    posts         what screens send           scales        whose bench has which
    devices       who was let in              pairing       and how; whose screen it is
    guard         what is not let through     routes        addresses and answers
    card_now      whether a card is good
    demo_floor    the demo's job              simulated     and its scale

May import: asking, builder, common, show, fit, in_folder, paper, planning, profiles, station, trading, weighing;
worksheets, balance."""
