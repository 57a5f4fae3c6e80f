"""The verbs: pure functions from records to records that decide what comes out of the wood."""
