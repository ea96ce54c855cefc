"""Whether one opening's jerk, or drag, opens another joint of a rocket."""
