"""The proof against other eyes: a brute force over the engine itself, random procedures, and the paths it names."""
