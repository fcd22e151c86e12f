"""At the balancing station: send, compare, stack, target, spin to sign, and their tables.
May import: asking, common, profiles, model_file, progress, show; worksheets, balance."""
