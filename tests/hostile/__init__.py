"""Text that wants to be more than text, at every place where text comes in or goes out."""
