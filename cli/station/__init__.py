"""At the balancing station: send, compare, stack, target, spin to sign, and their tables.
May import: asking, common, in_folder, model_file, progress, show; worksheets, balance."""
