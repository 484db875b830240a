"""The cache: a hit gives back what was put, anything that could change the result changes the key, rot is ignored."""

from __future__ import annotations

import os
import subprocess
import sys
import threading
import time
from pathlib import Path

from builddoc.cache import DAY, Cache, fingerprint, key_of
from builddoc.messages import Message, Place
from builddoc.page.draft import Draft, Noted
from builddoc.page.rendering import Options

MADE = Draft(
    html="<p>\ue000</p>",
    statement="<p>careful</p>",
    digest="<p>short</p>",
    panels=("<svg/>",),
    files={"a.csv": "x,y\n"},
    ids=("f1",),
    messages=(Message("c", "t", Place("", 1, 2)),),
    findings=(Noted("DANGER", "r", "h", "s", Place("", 3, 4, 9)),),
    text="machine: ü",
)


def test_memory_and_disk(tmp_path: Path) -> None:
    first = Cache(tmp_path / "deep" / "cache")
    assert first.get("k") is None
    first.put("k", MADE)
    assert first.get("k") == MADE
    assert Cache(tmp_path / "deep" / "cache").get("k") == MADE
    assert [p.name for p in (tmp_path / "deep" / "cache").iterdir()] == ["k.json"]


def test_rotten_entries_are_as_good_as_none(tmp_path: Path) -> None:
    Cache(tmp_path).put("k", MADE)
    whole = (tmp_path / "k.json").read_bytes()
    for rot in (b"", b"\x00\xff", whole[:-5], whole.replace(b"svg", b"svq"), b"0" * 64 + b"\n{}", whole[65:]):
        (tmp_path / "k.json").write_bytes(rot)
        assert Cache(tmp_path).get("k") is None
    (tmp_path / "k.json").unlink()
    (tmp_path / "k.json").mkdir()
    cache = Cache(tmp_path)
    assert cache.get("k") is None
    cache.put("k", MADE)  # cannot be written, does no harm
    assert cache.get("k") == MADE


def test_an_unwritable_folder_only_costs_time(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("not a folder")
    cache = Cache(tmp_path / "file")
    cache.put("k", MADE)
    assert cache.get("k") == MADE and cache.evict() == 0


def test_key_changes_with_all_that_matters(tmp_path: Path) -> None:
    file = tmp_path / "mill.yml"
    keys = set()
    for text in ("a", "b"):
        for options in (Options(), Options(engine="system")):
            file.unlink(missing_ok=True)
            keys |= {key_of(text, [], options), key_of(text, [file], options)}
            for content in ("machine: x", "machine: y"):
                file.write_text(content)
                keys.add(key_of(text, [file], options))
    assert len(keys) == 16
    assert key_of("a", [file], Options()) == key_of("a", [file], Options())


def test_fingerprint_sees_a_changed_source(tmp_path: Path) -> None:
    import shutil

    import builddoc

    shutil.copytree(Path(builddoc.__file__).parent, tmp_path / "builddoc", ignore=shutil.ignore_patterns("__pycache__"))

    def ask() -> str:
        code = "from builddoc.cache import fingerprint; print(fingerprint())"
        env = {**os.environ, "PYTHONPATH": str(tmp_path)}
        run = subprocess.run([sys.executable, "-c", code], env=env, cwd=tmp_path, capture_output=True, text=True)
        return run.stdout

    before = ask()
    assert len(before) > 60 and before == ask()
    (tmp_path / "builddoc" / "levels.py").write_text((tmp_path / "builddoc" / "levels.py").read_text() + "\n# x\n")
    assert before != ask()
    assert len(fingerprint()) == 64


def test_evict_forgets_what_no_build_asked_for(tmp_path: Path) -> None:
    cache = Cache(tmp_path)
    for key in ("old", "young", "used"):
        cache.put(key, MADE)
    cache.evict()  # end of a build
    (tmp_path / "note.txt").write_text("not ours")
    for key in ("old", "used"):
        os.utime(tmp_path / f"{key}.json", times=(time.time() - 8 * DAY,) * 2)
    again = Cache(tmp_path)
    assert again.get("used") == MADE
    assert again.evict() == 1
    assert sorted(p.name for p in tmp_path.iterdir()) == ["note.txt", "used.json", "young.json"]
    assert again.get("used") == MADE  # in memory still


def test_several_threads(tmp_path: Path) -> None:
    cache = Cache(tmp_path)
    wrong: list[str] = []

    def work(n: int) -> None:
        for i in range(40):
            key = f"k{i % 5}"
            if cache.get(key) not in (None, MADE):
                wrong.append(key)
            cache.put(key, MADE)

    threads = [threading.Thread(target=work, args=(n,)) for n in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert wrong == []
    assert all(Cache(tmp_path).get(f"k{i}") == MADE for i in range(5))
