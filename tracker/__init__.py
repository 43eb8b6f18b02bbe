"""Loomside: a progress book for people who knot pile rugs by hand."""

import os

# numpy's linear algebra starts a thread for each core, and these wait by spinning: sums as small as ours took six times as
# long on a busy machine. It reads this when it is first imported.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
