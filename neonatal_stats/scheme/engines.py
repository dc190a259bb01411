"""The engines: DuckDB in this process, and Apache Spark on this machine or a cluster; and what they can fail at.

An engine is asked through Ibis alone; nothing here knows what is asked.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import ibis

from neonatal_stats.season.finding import CannotRead

EMBEDDED = "duckdb"
MEMORY = "2GB"
"""What the embedded engine takes at most unless more is said; what does not fit goes to disk."""
DRIVER = "1GB"
"""What Spark gives its driver unless more is said."""
LOCAL_PARTITIONS = 4
QUIETLY = {
    "spark.ui.enabled": "false",
    "spark.ui.showConsoleProgress": "false",
    "spark.log.level": "ERROR",
    "spark.sql.session.timeZone": "UTC",
    "spark.sql.timestampType": "TIMESTAMP_NTZ",
    "spark.sql.execution.arrow.pyspark.enabled": "true",
}
"""Settings of every session: moments are those that the clock showed, and have no zone of their own."""


def engine_at(
    address: str, *, threads: int | None = None, memory: str | None = None, spill: str | Path | None = None
) -> ibis.BaseBackend:
    """The engine of an address: "duckdb", or that of a Spark ("local[2]", "spark://host:7077", "yarn", "sc://host").

    Parameters
    ----------
    threads : processors of this machine to use at most; of a cluster its own settings say.
    memory : such as "4GB": of the embedded engine at most, of Spark that of its driver.
    spill : the folder to which the embedded engine moves what does not fit.

    Raises
    ------
    CannotRead : where the engine is not installed, lacks Java or cannot be reached, or the memory cannot be read.
    """
    if address == EMBEDDED:
        return embedded(threads=threads, memory=memory or MEMORY, spill=spill)
    return spark(address, threads=threads, memory=memory)


def embedded(
    *, threads: int | None = None, memory: str | None = None, spill: str | Path | None = None
) -> ibis.BaseBackend:
    """The embedded engine, DuckDB: ``memory`` such as "2GB" at most, what does not fit goes to the folder ``spill``."""
    chosen = {
        "threads": threads,
        "memory_limit": memory,
        "temp_directory": None if spill is None else str(spill),
    }
    try:
        return ibis.duckdb.connect(**{name: value for name, value in chosen.items() if value is not None})
    except ImportError:
        raise CannotRead(
            "--engine duckdb: DuckDB is not installed; install the extra neonatal_stats[scheme]."
        ) from None
    except Exception as error:
        if "memory" not in str(error).lower():
            raise
        raise CannotRead(f"--memory {memory}: the engine cannot read it; write it as 2GB or 800MB.") from None


def spark(address: str, *, threads: int | None = None, memory: str | None = None) -> ibis.BaseBackend:
    """Apache Spark at an address, through Ibis; a session that runs already is used as it is."""
    if not (address in ("local", "yarn") or address.startswith(("local[", "spark://", "k8s://", "sc://"))):
        raise CannotRead(
            f"--engine {address}: there is no such engine; write duckdb, or the address of a Spark such as local[2] or "
            "spark://host:7077."
        )
    try:
        from pyspark.sql import SparkSession
    except ImportError:
        raise CannotRead(
            f"--engine {address}: Apache Spark is not installed; install the extra neonatal_stats[spark]."
        ) from None
    remote = address.startswith("sc://")
    if not remote and not has_java():
        raise CannotRead(
            f"--engine {address}: Spark needs Java 17 or newer, and there is none on this machine; install it (on "
            "Debian the package openjdk-17-jre-headless), or set JAVA_HOME."
        )
    if address == "local" and threads:
        address = f"local[{threads}]"
    chosen: dict[str, bool | float | int | str | None] = {**QUIETLY}
    if address.startswith("local"):
        chosen["spark.sql.shuffle.partitions"] = str(LOCAL_PARTITIONS)
    if memory:
        chosen["spark.driver.memory"] = memory.upper().removesuffix("B").lower()
    if remote:  # a server's own settings are its own
        chosen = {name: value for name, value in chosen.items() if name.startswith("spark.sql.session")}
    builder = SparkSession.builder.appName("neonatal_stats")
    builder = builder.remote(address) if remote else builder.master(address)
    try:
        return ibis.pyspark.connect(builder.config(map=chosen).getOrCreate())
    except Exception as error:
        raise CannotRead(
            f"--engine {address}: Spark cannot be started or reached: {in_short(error)}"
        ) from None


def has_java() -> bool:
    """Whether this machine has a Java that Spark would find."""
    home = os.environ.get("JAVA_HOME")
    return bool(home and Path(home, "bin", "java").exists()) or shutil.which("java") is not None


def is_spark(engine: ibis.BaseBackend) -> bool:
    """Whether an engine is Apache Spark."""
    return bool(engine.name == "pyspark")


def in_short(error: Exception) -> str:
    """The first line of what an engine said."""
    lines = [line.strip() for line in str(error).splitlines() if line.strip()]
    return lines[0][:300] if lines else type(error).__name__


@contextmanager
def memory_told(engine: ibis.BaseBackend, memory: str | None) -> Iterator[None]:
    """Turn an engine's want of memory, or of room on the disk, into one sentence."""
    try:
        yield
    except CannotRead:
        raise
    except Exception as error:
        said = f"{type(error).__name__} {error}".lower()
        if "no space left" in said or "max_temp_directory_size" in said:
            raise CannotRead(
                "the disk beside the output is full, to which the engine moves what does not fit into memory; make "
                "room, or give more with --memory."
            ) from None
        if "outofmemory" in said.replace(" ", "").replace("_", ""):
            had = memory or (DRIVER if is_spark(engine) else MEMORY)
            raise CannotRead(
                f"--memory {had}: the engine needs more than that for this question; give more, or fewer --threads."
            ) from None
        raise


@contextmanager
def counting(engine: ibis.BaseBackend) -> Iterator[list[Any]]:
    """A list that grows by one with each expression that the engine executes meanwhile."""
    passes: list[Any] = []
    execute: Callable[..., Any] = engine.execute

    def counted(expression: Any, *arguments: Any, **options: Any) -> Any:
        passes.append(expression)
        return execute(expression, *arguments, **options)

    engine.execute = counted
    try:
        yield passes
    finally:
        engine.execute = execute
