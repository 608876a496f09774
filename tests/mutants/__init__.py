"""Seeded faults: small wrong changes to the shipped procedures, which the proof has to find."""
