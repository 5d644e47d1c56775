"""What each event makes of a job; `evolve` puts them together."""
