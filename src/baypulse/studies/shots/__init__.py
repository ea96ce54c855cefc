"""What the shots of a case teach: the chance of opening before and after."""
