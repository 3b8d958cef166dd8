"""What on the floor needs a hand, for the Today page."""
