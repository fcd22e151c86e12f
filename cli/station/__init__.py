"""At the balancing station: send, compare, stack, target, spin to sign, and their tables.
May import: common, show; worksheets, balance."""
