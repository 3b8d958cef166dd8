"""What at the desk needs a hand, for the Today page."""
