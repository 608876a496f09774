"""The record of the doses: folded from their events, told, handed on, and taken care of."""
