"""One dose under way: a procedure, an order sheet, a clock and a journal, for every front end."""
