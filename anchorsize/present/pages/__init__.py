"""Pages that people take away: the shell every page stands in, and the templates set in it."""
