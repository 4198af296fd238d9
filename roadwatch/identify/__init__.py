"""How sure we are what it was: the certainty that travels with a record."""
