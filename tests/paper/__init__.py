"""The dose on paper."""
