"""Run sheets and blank forms on paper, and reading them back."""
