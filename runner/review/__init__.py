"""What logs say: facts from one log, and their printing. Needs nothing but the log."""
