"""Files that are written whole or not at all."""

from __future__ import annotations

import contextlib
import os
import tempfile
from collections.abc import Mapping
from pathlib import Path


def write(path: Path, content: str | bytes) -> None:
    """Write one file through a temporary neighbour; text as UTF-8 with plain line feeds.

    Raises OSError when it cannot be written; an older file of the same name then stays as it was.
    """
    write_all({path: content})


def write_all(contents: Mapping[Path, str | bytes]) -> None:
    """Write several files: all are staged before the first one is put in place.

    Raises OSError; when staging fails no file has changed and no temporary file is left.
    """
    staged: list[tuple[str, Path]] = []
    try:
        for path, content in contents.items():
            if path.is_dir():
                raise IsADirectoryError(f"{path} is a folder; name a file")
            handle, name = tempfile.mkstemp(prefix=f".{path.name[:40]}.", suffix=".part", dir=path.parent)
            staged.append((name, path))
            with os.fdopen(handle, "wb") as stream:
                stream.write(content.encode("utf-8") if isinstance(content, str) else content)
                stream.flush()
                os.fsync(stream.fileno())
            os.chmod(name, 0o666 & ~_umask())
        for name, path in staged:
            os.replace(name, path)
    finally:
        for name, _ in staged:
            with contextlib.suppress(FileNotFoundError):
                os.unlink(name)


def _umask() -> int:
    # the mask can only be read by setting it
    mask = os.umask(0o077)
    os.umask(mask)
    return mask
