"""What the cord carries, which one would do, what a brake takes."""
