"""What is known of a bay before anything is run: case files, units, library, geometry, logs."""
