"""What the charge does to the pressure that the altimeter reads."""
