"""The contract counted: days, turns, rounds, dates and money under the terms, from the ledger alone."""
