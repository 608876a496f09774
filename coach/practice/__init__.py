"""Rehearsals: the steps of a dose followed for practice, surprises, marks and signing off."""
