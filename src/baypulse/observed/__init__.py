"""What was seen or measured of real shots and flights, and how likely it is."""
