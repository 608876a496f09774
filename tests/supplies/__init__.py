"""What doses use, and what is left of the stock."""
