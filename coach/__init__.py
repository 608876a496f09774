"""A coach for one ordered IV dose at home: it times, compares, stops and finds the way back."""

__version__ = "0.1.0"
