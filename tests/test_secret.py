"""The secret key: made once, whole, for its owner alone, on any disk."""

import os

import pytest

from workshop.secret import secret_key


def test_it_is_made_once(tmp_path):
    key = secret_key(tmp_path / "data")
    assert len(key) >= 50
    assert secret_key(tmp_path / "data") == key
    assert [file.name for file in (tmp_path / "data").iterdir()] == ["secret-key"]


def test_of_two_who_make_it_at_once_the_first_counts(tmp_path, monkeypatch):
    def somebody_was_faster(written, file):
        file.write_text("theirs")
        raise FileExistsError

    monkeypatch.setattr(os, "link", somebody_was_faster)
    assert secret_key(tmp_path) == "theirs"
    assert [file.name for file in tmp_path.iterdir()] == ["secret-key"]


@pytest.mark.skipif(os.name == "nt", reason="Windows keeps rights otherwise")
def test_a_disk_without_links_will_do(tmp_path, monkeypatch):
    def no_links(written, file):
        raise PermissionError(1, "Operation not permitted")

    monkeypatch.setattr(os, "link", no_links)
    key = secret_key(tmp_path)
    assert len(key) >= 50 and secret_key(tmp_path) == key
    (file,) = tmp_path.iterdir()
    assert file.stat().st_mode & 0o777 == 0o600
