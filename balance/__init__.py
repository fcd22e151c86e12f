"""The domain of truethrow: readings, bobweights, spreads, trim, unbalance. No terminal, no printing."""
