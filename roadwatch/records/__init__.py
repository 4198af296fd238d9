"""What people saw: read from files, checked against rules, kept in one season file."""
