"""The record on disk: dose sittings and their events, added to and never changed.

While a journal is open, its files must be opened through SQLite alone, copies and backups
included: on POSIX systems, closing any other handle on a file drops this program's locks on it
(source: https://www.sqlite.org/howtocorrupt.html, section 2.2).
"""
