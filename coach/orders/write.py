"""Changing an order sheet: opened, changed field by field, and written whole or not at all.

Owns the file. A sheet with errors is never written over another, the last version is kept
beside the new one, and a kill at any moment leaves one or the other.
"""

from __future__ import annotations

import os
import tempfile
from datetime import date
from pathlib import Path

import msgspec

from coach.errors import OrderError
from coach.nodes import LARGEST_FILE, read_bytes
from coach.orders.patch import put, written
from coach.orders.read import sheet_from_bytes
from coach.orders.sheet import OrderSheet

_BEFORE = ".before"
"""Ends the name of the last version."""


class Draft(msgspec.Struct, frozen=True):
    """An order sheet that is being changed."""

    path: Path
    opened: bytes
    """The file as it was opened; it is replaced only if it is still so."""
    text: str

    @property
    def raw(self) -> bytes:
        """The file as it would be written."""
        return self.text.encode()

    @property
    def changed(self) -> bool:
        """Whether anything differs from the file that was opened."""
        return self.raw != self.opened

    def put(self, field: str, value: str) -> Draft:
        """Return the draft with *field*, such as ``flush.barrel``, written as *value*.

        An empty *value* leaves the field out. Raises OrderError where that cannot be done
        without a change to another field.
        """
        return msgspec.structs.replace(self, text=put(self.text, field, value))

    def as_next_version(self, today: date, signed_by: str) -> Draft:
        """Return the draft with its version raised by 1, dated *today* and *signed_by* a person.

        Nobody has signed a new version by having signed the one before. Raises OrderError.
        """
        if not signed_by.strip():
            raise OrderError("A new version needs the name of who checked it.")
        version = written(self.text).get("sheet.version", "")
        if not (version.isascii() and version.isdigit()):
            raise OrderError("The version has to be a whole number, such as 1.")
        dated = self.put("sheet.version", str(int(version) + 1)).put("sheet.date", str(today))
        return dated.put("sheet.signed_by", signed_by)

    @property
    def kept(self) -> Path:
        """Where the last version of the file is kept."""
        path = self.path.resolve()
        return path.with_name(path.name + _BEFORE)

    def sheet(self) -> OrderSheet:
        """Return the sheet as it stands now. Raises FileProblems."""
        return sheet_from_bytes(self.raw, self.path.name)


def open_draft(path: Path) -> Draft:
    """Return the order sheet at *path* for changing; fields of it may be wrong or missing.

    Raises OrderError if the file cannot be read, FileProblems if it is not the YAML that is
    allowed here.
    """
    try:
        with path.open("rb") as file:
            raw = file.read(LARGEST_FILE + 1)
    except OSError as error:
        raise OrderError(f"{path} cannot be read.") from error
    read_bytes(raw, path.name)
    return Draft(path, raw, raw.decode())


def save(draft: Draft) -> Draft:
    """Write *draft* over the file that was opened, and return it as opened anew.

    The file as it was is kept beside it, at ``draft.kept``. Raises FileProblems if the draft does
    not read without an error, OrderError if the file was changed meanwhile or cannot be written;
    the old file then stays as it is.
    """
    draft.sheet()
    path = draft.path.resolve()
    try:
        if path.read_bytes() != draft.opened:
            raise OrderError("Somebody changed the file meanwhile. Nothing was written.")
        _replace(draft.kept, draft.opened, path)
        _replace(path, draft.raw, path)
    except OSError as error:
        told = (error.strerror or "an error").lower()
        raise OrderError(f"The file could not be written: {told}. It stays as it was.") from error
    return msgspec.structs.replace(draft, opened=draft.raw)


def _replace(path: Path, raw: bytes, like: Path) -> None:
    """Put *raw* in the place of *path* at one stroke, with the permissions of *like*."""
    handle, name = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(raw)
            file.flush()
            os.fsync(file.fileno())
        Path(name).chmod(like.stat().st_mode)
        Path(name).replace(path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
    if os.name == "posix":  # the new name of the file has to reach the disk as well
        folder = os.open(path.parent, os.O_RDONLY)
        try:
            os.fsync(folder)
        finally:
            os.close(folder)
