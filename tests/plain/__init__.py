"""Plain lines: for screen readers, a dumb terminal, and scripts."""
