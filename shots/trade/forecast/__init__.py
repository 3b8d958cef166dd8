"""Days left and odds: the forecast of a production, from its history and a seed."""
