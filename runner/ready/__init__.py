"""The ready sheet: what to lay out before a procedure is begun, gathered over all its ways."""
