"""Many independent solves as tasks: on the cores of this machine or on a cluster, each finished one stored.

A task names a function; what it reads and returns are bytes. :func:`open_pool` gives what runs them.
"""

from __future__ import annotations

from roundplan.tasks.naming import fingerprint
from roundplan.tasks.store import Store, clear_beside, store_beside
from roundplan.tasks.task import Pool, Shared, Stopped, Task, TaskFailed, TaskLost, never, share
from roundplan.tasks.work import stopping

__all__ = [
    "Pool",
    "Shared",
    "Stopped",
    "Store",
    "Task",
    "TaskFailed",
    "TaskLost",
    "clear_beside",
    "fingerprint",
    "never",
    "open_pool",
    "share",
    "stopping",
    "store_beside",
]


def open_pool(
    *, processes: int, cluster: str | None = None, store: Store | None = None, prepare: Task | None = None
) -> Pool:
    """Return a pool to use in a ``with`` statement.

    Parameters
    ----------
    processes : int
        Worker processes on this machine; 0 = none, the tasks run in the calling process. Not used with a cluster.
    cluster : str or None
        Address of a dask scheduler whose workers run the tasks, such as ``tcp://10.0.0.5:8786``.
    store : Store or None
        Keeps each result as soon as it is there.
    prepare : Task or None
        Run by each worker process of this machine when it starts, which then is at once; for what all tasks need.
    """
    if cluster is not None:
        from roundplan.tasks.cluster import ClusterPool

        return ClusterPool(cluster, store)
    from roundplan.tasks.local import LocalPool

    return LocalPool(processes, store, prepare)
