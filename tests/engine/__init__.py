"""The engine: needs, sets, and the step to do now."""
