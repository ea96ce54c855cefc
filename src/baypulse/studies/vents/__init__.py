"""The window of a vent: the smallest for the ascent, the largest for the charge."""
