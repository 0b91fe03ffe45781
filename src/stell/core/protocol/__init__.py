"""Protocols: the checklist and every threshold as sourced data, its loader and its conditions."""
