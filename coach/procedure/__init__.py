"""Procedures: YAML files of facts and steps, read into frozen data and composed for one sheet."""
