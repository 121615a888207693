"""Where a store may lie: on a disk of this machine, not on a share, better not in a sync folder."""

import os
import re
import sys
from pathlib import Path

from fleet.errors import StoreProblem

# Kinds of file system that another machine serves: file locks there cannot be trusted.
_SHARES = frozenset(
    {
        "nfs", "nfs4", "cifs", "smb", "smb2", "smb3", "smbfs", "afs", "ncpfs", "ceph", "davfs",
        "glusterfs", "lustre", "gpfs", "beegfs", "fuse.sshfs", "fuse.rclone", "fuse.davfs2",
        "fuse.glusterfs", "fuse.ceph", "fuse.s3fs", "fuse.gvfsd-fuse", "afpfs", "webdav",
    }
)  # fmt: skip

_WINDOWS_REMOTE_DRIVE = 4
_WINDOWS_FETCHED_WHEN_READ = 0x1000 | 0x40000 | 0x400000


def check_place(path: Path) -> None:
    """Raise StoreProblem where `path` lies on a network share (known on Linux and Windows)."""
    kind = _share_kind(path)
    if kind is not None:
        raise StoreProblem(
            f"{path} lies on a network share ({kind}), where two writers could damage a store; "
            "keep the store on a disk of this machine and exchange record files or backups"
        )


def check_store_file(path: Path) -> None:
    """Raise StoreProblem unless `path` is a file on a disk of this machine."""
    if not is_there(path):
        raise StoreProblem(f"there is no store at {path}; give the path of one, or make a new one")
    if path.is_dir():
        raise StoreProblem(f"{path} is a folder, not a store; give the path of the store's file")
    check_place(path)


def check_new_file(path: Path) -> None:
    """Raise StoreProblem unless a new file may be made at `path`."""
    if is_there(path):
        raise StoreProblem(f"there is already a file at {path}; choose another name")
    if not is_there(path.absolute().parent):
        raise StoreProblem(f"there is no folder {path.absolute().parent}; make it first")
    check_place(path)


def is_there(path: Path) -> bool:
    """Whether there is something at `path`. StoreProblem where that may not be looked at."""
    try:
        path.stat()
    except (FileNotFoundError, NotADirectoryError):
        return False
    except OSError as fault:
        raise StoreProblem(
            f"{path} cannot be reached: the folder does not allow it ({fault.strerror}); choose "
            "a place that you may open"
        ) from fault
    return True


def log_of(path: Path) -> Path:
    """The log that the engine keeps beside the file while a write is under way."""
    return path.with_name(f"{path.name}.wal")


def warnings_for(path: Path) -> list[str]:
    """Sentences on a place that may be kept in step with another machine; none for most."""
    signs = [
        *_telling_folder_names(path.absolute()),
        *_marker_files(path.absolute()),
        *_rival_copies(path.absolute()),
    ]
    if not signs:
        return []
    return [
        f"{path} may be in a folder that is kept in step with other machines ({', '.join(signs)}); "
        "such programs can copy a half-written store: keep it elsewhere and put backups there"
    ]


def share_kind_from_mounts(path: Path, mounts: str) -> str | None:
    """The kind of network share that holds `path`, from the text of /proc/mounts; else None."""
    best, kind = -1, ""
    for line in mounts.splitlines():
        fields = line.split()
        if len(fields) < 3:
            continue
        # Blanks in a mount point are written as octal numbers there.
        point = re.sub(r"\\(\d{3})", lambda found: chr(int(found[1], 8)), fields[1])
        # On a tie the later line counts: it was mounted over the earlier one.
        if path.is_relative_to(point) and len(point) >= best:
            best, kind = len(point), fields[2]
    return kind if kind in _SHARES else None


def _share_kind(path: Path) -> str | None:
    resolved = path.resolve()
    if sys.platform == "win32":
        import ctypes

        if resolved.drive.startswith("\\\\"):
            return "UNC path"
        remote = ctypes.windll.kernel32.GetDriveTypeW(f"{resolved.drive}\\")
        return "network drive" if remote == _WINDOWS_REMOTE_DRIVE else None
    try:
        mounts = Path("/proc/self/mounts").read_text(encoding="utf-8", errors="replace")
    except OSError:
        return None  # no such table on this system
    return share_kind_from_mounts(resolved, mounts)


def _telling_folder_names(path: Path) -> list[str]:
    telling = re.compile(r"cloud|sync|[a-z ]drive$", re.IGNORECASE)
    return [f"the folder's name {p.name}" for p in path.parents if telling.search(p.name)][:1]


def _marker_files(path: Path) -> list[str]:
    """Hidden entries that name syncing, and folders whose files are fetched only when read."""
    for folder in path.parents:
        try:
            names = [entry.name for entry in os.scandir(folder) if entry.name.startswith(".st")]
            names += [e.name for e in os.scandir(folder) if re.match(r"\..*sync", e.name)]
            attributes = getattr(folder.stat(), "st_file_attributes", 0)
        except OSError:
            continue
        markers = [n for n in names if n in (".stfolder", ".stignore") or "sync" in n]
        if markers:
            return [f"the marker {markers[0]} in {folder}"]
        if attributes & _WINDOWS_FETCHED_WHEN_READ:
            return [f"{folder} is fetched from elsewhere when read"]
    return []


def _rival_copies(path: Path) -> list[str]:
    try:
        names = [entry.name for entry in os.scandir(path.parent)]
    except OSError:
        return []
    rivals = [n for n in names if n.startswith(path.stem) and "conflict" in n.lower()]
    return [f"the copy {rivals[0]} beside it"] if rivals else []
