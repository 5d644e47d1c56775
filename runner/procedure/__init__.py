"""Procedures: what an author wrote, read, typed and linked into a state graph."""
