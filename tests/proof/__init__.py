"""What the proof says, and that it says it of what is wrong."""
