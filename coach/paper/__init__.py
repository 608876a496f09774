"""The dose on paper: large print for the fridge door, and for when the power is out."""
