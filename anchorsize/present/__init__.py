"""Assessment → text, JSON, pandas frames, pages and pictures. Nothing is judged here."""
