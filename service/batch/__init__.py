"""A catalogue costed in chunks: many setups, each a household of its own, with one set of settings."""
