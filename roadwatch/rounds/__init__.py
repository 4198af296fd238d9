"""Which nest is looked at by whom on which day."""
