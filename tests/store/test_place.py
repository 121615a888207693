from pathlib import Path

import pytest

from fleet import store
from fleet.errors import StoreProblem
from fleet.store import place

MOUNTS = r"""/dev/sda1 / ext4 rw 0 0
server:/club /mnt/club nfs4 rw 0 0
/dev/sdb1 /mnt/club/local ext4 rw 0 0
//box/share /mnt/tool\040library cifs rw 0 0
someone@far: /home/me/far fuse.sshfs rw 0 0
broken
"""


@pytest.mark.parametrize(
    ("path", "kind"),
    [
        ("/home/me/club.duckdb", None),
        ("/mnt/club/club.duckdb", "nfs4"),
        ("/mnt/club/local/club.duckdb", None),
        ("/mnt/clubhouse/club.duckdb", None),
        ("/mnt/tool library/club.duckdb", "cifs"),
        ("/home/me/far/club.duckdb", "fuse.sshfs"),
    ],
)
def test_the_deepest_mount_decides(path, kind):
    assert place.share_kind_from_mounts(Path(path), MOUNTS) == kind


def test_what_is_mounted_last_over_a_place_decides():
    mounts = "a /mnt ext4 rw 0 0\nb /mnt nfs rw 0 0\n"
    assert place.share_kind_from_mounts(Path("/mnt/x"), mounts) == "nfs"


def test_a_share_is_refused_for_everything(path, tmp_path, monkeypatch):
    monkeypatch.setattr(place, "_share_kind", lambda path: "nfs4")
    for use in (
        lambda: store.create(tmp_path / "new.duckdb"),
        lambda: store.stamp(path),
        lambda: store.set_note(path, "a", "b"),
        lambda: store.restore(path, tmp_path / "new.duckdb"),
    ):
        with pytest.raises(StoreProblem, match=r"on a network share \(nfs4\).*a disk of this"):
            use()
    assert [p.name for p in tmp_path.iterdir()] == [path.name]


def test_an_ordinary_folder_needs_no_warning(tmp_path):
    assert store.warnings_for(tmp_path / "club.duckdb") == []


@pytest.mark.parametrize("folder", ["My Cloud", "Synced", "Group Drive"])
def test_a_telling_folder_name(tmp_path, folder):
    (tmp_path / folder).mkdir()
    [warning] = store.warnings_for(tmp_path / folder / "club.duckdb")
    assert f"the folder's name {folder}" in warning
    assert "keep it elsewhere" in warning


@pytest.mark.parametrize("marker", [".stfolder", ".sync", ".syncing.db"])
def test_a_marker_in_a_folder_above(tmp_path, marker):
    (tmp_path / marker).touch()
    (tmp_path / "club").mkdir()
    [warning] = store.warnings_for(tmp_path / "club" / "club.duckdb")
    assert f"the marker {marker}" in warning


def test_a_rival_copy(tmp_path):
    (tmp_path / "club (conflicted copy).duckdb").touch()
    [warning] = store.warnings_for(tmp_path / "club.duckdb")
    assert "the copy club (conflicted copy).duckdb beside it" in warning
