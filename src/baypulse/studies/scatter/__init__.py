"""The chance of every verdict from thousands of members, and what drives it."""
