"""Keeps many small matrix products and factorisations on one thread."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache

import threadpoolctl  # type: ignore[import-untyped]


@contextmanager
def one_thread() -> Iterator[None]:
    """Run the body with linear algebra on one thread.

    Matrices of a few hundred rows are factorised hundreds of times. Sharing each out over threads
    costs more than it saves, and where something else runs on the machine, tens of times more
    (7 s for 0.13 s, measured on two busy cores). One thread also gives the same last digits on
    machines with different numbers of cores.
    """
    with _libraries().limit(limits=1, user_api="blas"):
        yield


@cache
def _libraries() -> threadpoolctl.ThreadpoolController:
    return threadpoolctl.ThreadpoolController()
