"""The proof: every path of a linked procedure, every item and every window, before anyone touches a spanner."""
