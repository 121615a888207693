"""fleet new."""


def test_makes_a_store_where_asked(fleet, store):
    done = fleet("new")
    assert (done.code, done.out) == (0, "")
    assert store.exists()
    assert str(store) in done.err


def test_store_option_goes_before_the_environment(fleet, store, tmp_path):
    assert fleet("new", "--store", tmp_path / "other.duckdb").code == 0
    assert (tmp_path / "other.duckdb").exists()
    assert not store.exists()


def test_store_in_this_folder_without_either(tmp_path, monkeypatch):
    from typer.testing import CliRunner

    from fleet.cli.app import app

    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("FLEET_STORE", raising=False)
    assert CliRunner().invoke(app, ["new"]).exit_code == 0
    assert (tmp_path / "fleet.duckdb").exists()


def test_nothing_is_overwritten(fleet, store):
    fleet("new")
    before = store.read_bytes()
    done = fleet("new")
    assert done.code == 1
    assert done.err.count("\n") == 1
    assert store.read_bytes() == before


def test_other_commands_say_when_there_is_no_store(fleet, store):
    for words in (["lives"], ["due"], ["log", "working", "TL-1", "--on", "2024"], ["imports"]):
        done = fleet(*words)
        assert done.code == 1, words
        assert done.err.startswith("Error: ")
        assert done.err.count("\n") == 1
        assert not store.exists()
