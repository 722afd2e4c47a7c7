"""The pictures of a backup in the place of those there; back again if the records cannot follow."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import AbstractContextManager, contextmanager, suppress
from pathlib import Path

from decaljobs.services.files import drop_media, media_folder, media_names, open_media, put_media
from decaljobs.services.safekeeping.backup_file import CHUNK


def swapped_media(new: Path) -> AbstractContextManager[None]:
    """The pictures in a folder of this disk in the place of all there are."""
    media = media_folder()
    return _swapped_by_name(new) if media is None else _swapped_folder(new, media)


@contextmanager
def _swapped_folder(new: Path, media: Path) -> Iterator[None]:
    """Two renames, so that there is no moment with some of both."""
    aside = new.parent / "old-media"
    if media.exists():
        media.rename(aside)
    try:
        new.rename(media)
        yield
    except BaseException:
        if media.exists():
            media.rename(new)
        if aside.exists():
            aside.rename(media)
        raise


@contextmanager
def _swapped_by_name(new: Path) -> Iterator[None]:
    """File by file, where nothing can be renamed: what the old records name stays until the end."""
    there = set(media_names())
    files = {path.relative_to(new).as_posix(): path for path in new.rglob("*") if path.is_file()}
    changed = {name for name in files.keys() & there if not _is_same(name, files[name])}
    kept = {name: _kept_aside(name, new.parent / "old-media") for name in changed}
    brought = [name for name in files if name in changed or name not in there]
    try:
        _put({name: files[name] for name in brought})
        yield
    except BaseException:
        for name in set(brought) - there:
            drop_media(name)
        _put(kept)
        raise
    # One that stays is named by no record: the doctor sweeps it.
    with suppress(OSError):
        for name in there - files.keys():
            drop_media(name)


def _put(files: dict[str, Path]) -> None:
    for name, path in files.items():
        with path.open("rb") as source:
            put_media(name, source)


def _is_same(name: str, path: Path) -> bool:
    with open_media(name) as one, path.open("rb") as other:
        while True:
            chunk = one.read(CHUNK)
            if chunk != other.read(CHUNK):
                return False
            if not chunk:
                return True


def _kept_aside(name: str, folder: Path) -> Path:
    path = folder / name
    path.parent.mkdir(parents=True, exist_ok=True)
    with open_media(name) as source, path.open("xb") as target:
        while chunk := source.read(CHUNK):
            target.write(chunk)
    return path
