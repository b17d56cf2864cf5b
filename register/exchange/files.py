"""Files and folders that are there whole or not at all: written beside their place, then renamed into it."""

from __future__ import annotations

import os
import secrets
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path


@contextmanager
def written_aside(path: Path, *, overwrite: bool = False) -> Iterator[Path]:
    """A path to write to, which becomes ``path`` at the end, or is taken away where something goes wrong.

    FileExistsError with a sentence where ``path`` is there and ``overwrite`` is not asked for.
    """
    _refuse_file(path, overwrite=overwrite)
    path.parent.mkdir(parents=True, exist_ok=True)
    aside = _beside(path)
    try:
        yield aside
        with aside.open("rb+") as file:
            os.fsync(file.fileno())
        _refuse_file(path, overwrite=overwrite)
        aside.replace(path)
    finally:
        aside.unlink(missing_ok=True)


@contextmanager
def folder_written_aside(path: Path, *, overwrite: bool = False) -> Iterator[Path]:
    """A folder to write into, which becomes ``path`` at the end; an empty folder may be there already.

    With ``overwrite`` its files go into a folder that is there, each in the place of the one of its name,
    and what else is in that folder stays.
    """
    _refuse_folder(path, overwrite=overwrite)
    path.parent.mkdir(parents=True, exist_ok=True)
    aside = _beside(path)
    aside.mkdir()
    try:
        yield aside
        _refuse_folder(path, overwrite=overwrite)
        if not path.exists():
            aside.rename(path)
        else:
            for file in sorted(aside.iterdir()):
                file.replace(path / file.name)
    finally:
        shutil.rmtree(aside, ignore_errors=True)


def _refuse_file(path: Path, *, overwrite: bool) -> None:
    if path.is_dir():
        raise FileExistsError(f"{path} is a folder: choose another name for the file.")
    if path.exists() and not overwrite:
        raise FileExistsError(f"{path} is there already: choose another name, or take it away first.")


def _refuse_folder(path: Path, *, overwrite: bool) -> None:
    if path.exists() and not path.is_dir():
        raise FileExistsError(
            f"{path} is a file: choose another name for the folder, or one that ends in .xlsx for a workbook."
        )
    if path.is_dir() and not overwrite and any(path.iterdir()):
        raise FileExistsError(f"The folder {path} is not empty: choose another one, or empty it first.")


def _beside(path: Path) -> Path:
    return path.parent / f".{path.name}.{secrets.token_hex(4)}.part"
