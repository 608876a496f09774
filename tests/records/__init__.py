"""The record of the doses."""
