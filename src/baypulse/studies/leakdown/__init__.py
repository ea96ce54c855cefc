"""From a falling gauge to a leak, and from the leak to the charge."""
