"""Every number and kind of pins against every charge."""
