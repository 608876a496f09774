"""The words of one subject each; what all subjects share stands in ``coach.words``."""
