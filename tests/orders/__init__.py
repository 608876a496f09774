"""The order sheet, from its quantities up."""
