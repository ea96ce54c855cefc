"""The same charge at altitude, and what a ground test at the site proves of it."""
