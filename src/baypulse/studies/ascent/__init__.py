"""What trapped air and drag do to the closed joint during boost and coast."""
