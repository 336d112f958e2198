"""What the page says, in each of its languages and units."""
