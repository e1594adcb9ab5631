"""Work on a cluster of Dask distributed (extra ``cluster``): one that is there, or one that is started on this machine.

Nothing of Dask's is imported before a cluster is opened.
"""

from .opening import AWAY_S, opened

__all__ = ["AWAY_S", "opened"]
