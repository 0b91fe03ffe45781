"""Repeatable measurements. ``python -m bench`` runs all of them; each also runs alone."""
