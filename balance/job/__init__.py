"""One engine job as its file, its log and a sheet say it: tables, sources, the frozen Job and its digest, pads
and levers, what a grind gave, what was confirmed, the history that is shown.
May import: blanks, base, engine, log, crank."""
