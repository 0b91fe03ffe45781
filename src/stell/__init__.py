"""stell: examine rams before mating and see that every flock has enough sound ones."""

__version__ = "0.1.0"
