"""Where tables and recordings lie: on this machine's disk, or in an object store by an address, as ``s3://school/day``.

A store is reached through fsspec (universal_pathlib, extra ``cluster``), with the credentials that its own driver finds
in the environment. Whatever it answers is told in our own words: those of a driver may hold what nobody should read.
"""

import errno
import os
import re
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass, field
from importlib.util import find_spec
from pathlib import Path, PurePath, PurePosixPath
from typing import TYPE_CHECKING, Any, Protocol, Self, TypeVar
from urllib.request import url2pathname

from ..errors import UnreadableFile, UsageError
from ..words.message import Quoted
from ..words.plain import printable
from .address_messages import ADDRESS_SAME_STORE, ADDRESS_SAVE_BESIDE, address_elsewhere, address_not_fetched

if TYPE_CHECKING:
    from upath import UPath

Given = TypeVar("Given")
_ADDRESS = re.compile(r"([a-z][a-z0-9+.-]+)://(.*)", re.IGNORECASE | re.DOTALL)
_CHAIN = "::"
"""Leads from one store through another, by fsspec."""
_WEB = frozenset({"http", "https"})
_DISK = frozenset({"file", "local"})
_DRIVERS = {
    "s3": "s3fs",
    "s3a": "s3fs",
    "gs": "gcsfs",
    "gcs": "gcsfs",
    "az": "adlfs",
    "abfs": "adlfs",
    "abfss": "adlfs",
    "http": "aiohttp requests",
    "https": "aiohttp requests",
    "sftp": "paramiko",
    "ssh": "paramiko",
    "smb": "smbprotocol",
}
"""What fsspec takes to reach a store, by pip's names. Source: fsspec.registry.known_implementations."""


class State(Protocol):
    """What is known of a file without opening it."""

    @property
    def st_mode(self) -> int:
        """A folder, a file, or a device."""
        ...

    @property
    def st_size(self) -> int:
        """Bytes."""
        ...

    @property
    def st_mtime(self) -> float:
        """When it was last written; 0 where a store does not say."""
        ...


class Place(Protocol):
    """What is asked of a file or a folder, wherever it lies: a ``Path`` and an ``Address`` answer alike."""

    @property
    def name(self) -> str:
        """Its last part."""
        ...

    @property
    def stem(self) -> str:
        """The same without its ending."""
        ...

    @property
    def suffix(self) -> str:
        """The ending."""
        ...

    @property
    def parent(self) -> Self:
        """The folder in which it lies."""
        ...

    def __truediv__(self, name: str, /) -> Self:
        """What is called so in this folder."""
        ...

    def iterdir(self) -> Iterator[Self]:
        """All that lies in it."""
        ...

    def stat(self) -> State:
        """What is known of it."""
        ...

    def is_file(self) -> bool:
        """Whether it is one."""
        ...

    def is_dir(self) -> bool:
        """Whether it is a folder."""
        ...

    def is_symlink(self) -> bool:
        """Whether it only points elsewhere."""
        ...

    def resolve(self) -> Self:
        """The same by its one whole name."""
        ...

    def read_bytes(self) -> bytes:
        """All of it."""
        ...


@dataclass(frozen=True, slots=True)
class Address:
    """A ``Place`` in an object store. As text it is its address without whatever in it is secret.

    Each question raises ``OSError`` where the store answers that there is no such file, or none that may be read;
    ``UnreadableFile`` where it does not answer as a store does, or its driver is not installed.
    """

    _path: "UPath" = field(repr=False)
    _shown: str
    _store_name: str = field(default="", repr=False, compare=False)

    def __str__(self) -> str:
        return self._shown

    @property
    def _store(self) -> Any:  # noqa: ANN401 fsspec has no types
        return self._path.fs

    def _kind(self) -> str:
        """A file, a directory, or nothing (empty). The store's own ``isdir`` says no too where it does not answer."""
        try:
            return str(_told(lambda: self._store.info(self._path.path)["type"], self._shown))
        except OSError:
            return ""

    @property
    def scheme(self) -> str:
        """The kind of store."""
        return str(self._path.protocol)

    @property
    def store(self) -> tuple[str, str]:
        """In which store it lies: the kind, and the bucket, container or host as it was named; may hold a secret."""
        return self.scheme, self._store_name

    @property
    def name(self) -> str:
        """Its last part; what stands behind a question mark of the web is no name and may be a signature."""
        name = str(self._path.name)
        return name.partition("?")[0] if self.scheme in _WEB else name

    @property
    def stem(self) -> str:
        """The name without its ending."""
        return PurePosixPath(self.name).stem

    @property
    def suffix(self) -> str:
        """The ending."""
        return PurePosixPath(self.name).suffix

    @property
    def parent(self) -> "Address":
        """The folder in which it lies."""
        scheme, _, rest = self._shown.partition("://")
        shown = f"{scheme}://{rest.rstrip('/').rpartition('/')[0] or rest}"
        return Address(self._path.parent, shown, self._store_name)

    def __truediv__(self, name: str) -> "Address":
        """What is called so in this folder; never what lies elsewhere, as behind a leading slash."""
        inside = name.lstrip("/")
        found = _told(lambda: self._path / inside, self._shown)
        return Address(found, f"{self._shown.rstrip('/')}/{inside}", self._store_name)

    def iterdir(self) -> "Iterator[Address]":
        """All that lies in it."""
        mine = self._path.path.rstrip("/")
        found = _told(lambda: [str(each).rstrip("/") for each in self._store.ls(mine, detail=False)], self._shown)
        return (self / each.rpartition("/")[2] for each in found if each.strip("/") != mine.strip("/"))

    def stat(self) -> State:
        """What is known of it."""
        return _told(self._path.stat, self._shown)

    def is_file(self) -> bool:
        """Whether it is one."""
        return self._kind() == "file"

    def is_dir(self) -> bool:
        """Whether it is a folder: whether anything lies under its name."""
        return self._kind() == "directory"

    def is_symlink(self) -> bool:
        """No store has any."""
        return False

    def resolve(self) -> "Address":
        """The same."""
        return self

    def read_bytes(self) -> bytes:
        """All of it."""
        return _told(self._path.read_bytes, self._shown)

    def head(self, count: int) -> bytes:
        """Its first bytes, without the rest on the way."""
        return _told(lambda: bytes(self._store.cat_file(self._path.path, start=0, end=count)), self._shown)


def place(text: str) -> Place:
    """The place that a text names: an address of a store, or a path; ``file://`` is a path.

    Raises
    ------
    UsageError
        If the address is none that can be read.
    """
    if not text:
        raise UsageError("an empty text names no file.", mend="Give a file or a folder; . is the one you are in.")
    found = _ADDRESS.fullmatch(text)
    if found is None:
        return Path(text)
    scheme, rest = found[1].lower(), found[2]
    shown = f"{scheme}://{_without_secrets(rest)}"
    if scheme in _DISK:
        if not rest.startswith("/"):
            raise UsageError(f"{printable(shown)} names no file of this machine.", mend="Write file:///folder/file.")
        return Path(url2pathname(rest))
    if find_spec("upath") is None:
        raise UsageError(
            f"{scheme}:// is an object store, and what reads those is not installed.",
            mend="Install it: python -m pip install 'ownmark[cluster]'",
        )
    from upath import UPath

    try:
        if _CHAIN in text:
            raise ValueError("a chain of addresses")
        return Address(UPath(f"{scheme}://{rest}"), printable(shown), re.split(r"[/?#]", rest)[0])
    except Exception:  # noqa: BLE001 each kind of address has its own ways to be wrong
        raise UsageError(
            f"{printable(shown)} is no address of a store that can be read.",
            mend="Write it as in s3://bucket/folder, gs://… or az://…",
        ) from None


def beside(folder: Place, name: str) -> Place:
    """The file that a table in a folder names: in that folder, or by an address in the table's own store.

    Whoever wrote a table decides over the place that it lies in, and over no other: a table on a drive has nothing
    fetched over the network, and one in a store reaches no second store with the credentials that are at hand.

    Raises
    ------
    UsageError
        If the address is none, or leads elsewhere.
    """
    address = _ADDRESS.fullmatch(name)
    if address is None and not isinstance(folder, Address) and _on_a_share(folder, name):
        raise UsageError(address_not_fetched(Quoted(printable(name))), mend=ADDRESS_SAVE_BESIDE)
    if address is None:
        if isinstance(folder, Address) and _CHAIN in name:  # a worker would take it for a way through another store
            raise UsageError(address_elsewhere(Quoted(printable(name)), Quoted(str(folder))), mend=ADDRESS_SAME_STORE)
        return folder / name
    shown = Quoted(printable(f"{address[1].lower()}://{_without_secrets(address[2])}"))
    if not isinstance(folder, Address):
        if address[1].lower() in _DISK:
            return place(name)
        raise UsageError(address_not_fetched(shown), mend=ADDRESS_SAVE_BESIDE)
    found = place(name)
    if not isinstance(found, Address) or folder.store != found.store:
        raise UsageError(address_elsewhere(shown, Quoted(str(folder))), mend=ADDRESS_SAME_STORE)
    return found


def _on_a_share(folder: Place, name: str) -> bool:
    """Whether a name leads to another computer by Windows's own way, which would send it who is logged in here."""
    drive = getattr(folder / name, "drive", "")
    return str(drive).startswith("\\\\") and drive != getattr(folder, "drive", "")


def is_there(path: Place) -> bool:
    """Whether there is anything of that name, a folder too; also for names that no disk can have."""
    if isinstance(path, Address):
        with suppress(OSError, UnreadableFile):  # whoever reads it is told
            return path.is_file() or path.is_dir()
        return False
    return os.path.exists(str(path))  # noqa: PTH110 as a path, a name that is too long raises


def is_file(path: Place) -> bool:
    """Whether it is a file; False too where its store does not answer."""
    with suppress(OSError, ValueError, UnreadableFile):  # a name that no disk can have is no file
        return path.is_file()
    return False


def is_folder(path: Place) -> bool:
    """Whether it is a folder; also for names that no disk can have."""
    if isinstance(path, Address):
        with suppress(OSError, UnreadableFile):
            return path.is_dir()
        return False
    return os.path.isdir(str(path))  # noqa: PTH112 as above


def head_of(path: Place, count: int) -> bytes:
    """The first bytes of a file.

    Raises
    ------
    OSError, UnreadableFile
    """
    if isinstance(path, Address):
        return path.head(count)
    with open(str(path), "rb") as handle:  # noqa: PTH123 a place is asked only what all can answer
        return handle.read(count)


def within(path: Place, root: Place) -> PurePath:
    """The way from a folder to what lies in it."""
    return PurePath(str(path)).relative_to(str(root))


def read_anywhere(paths: "tuple[Place, ...]") -> bool:
    """Whether whoever works can read all of them, on whatever machine."""
    return all(isinstance(each, Address) for each in paths)


def _without_secrets(rest: str) -> str:
    """An address behind its ``://`` without user, password and signature."""
    host, slash, path = rest.partition("?")[0].partition("/")
    return f"{host.rpartition('@')[2]}{slash}{path}"


def _told(ask: Callable[[], Given], shown: str) -> Given:
    """What a store answers."""
    scheme = shown.partition("://")[0]
    try:
        return ask()
    except (FileNotFoundError, NotADirectoryError):
        raise FileNotFoundError(errno.ENOENT, os.strerror(errno.ENOENT)) from None
    except IsADirectoryError:
        raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR)) from None
    except PermissionError:
        raise PermissionError(errno.EACCES, os.strerror(errno.EACCES)) from None
    except ImportError:
        driver = _DRIVERS.get(scheme)
        raise UnreadableFile(
            f"what reads {scheme}:// is not installed.",
            where=shown,
            mend=f"Install it: python -m pip install {driver}" if driver else "fsspec's documentation names it.",
        ) from None
    except Exception as failure:  # noqa: BLE001 each driver has its own errors
        raise UnreadableFile(
            f"the store does not answer as it should ({type(failure).__name__}).",
            where=shown,
            mend="Look at the address, and at the credentials that the environment holds for it.",
        ) from None
